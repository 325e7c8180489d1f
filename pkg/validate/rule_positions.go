package validate

import (
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var positionsIdentical = &Rule{
	Kind: kinds.PositionsIdentical,
	// When: Counted are finds with equal numbers for longitude and for latitude, without any tolerance, that claim a
	// spot of their own: no lot, no `partOf`, not named in `generalised`, `/position/uncertaintyBasis` is not `square`
	// or `generalised`, `/position/method` is not `grid-reference`, `field-centroid`, `told` or `dms-seconds`, and no
	// `associated` has the code `same-hole`, `touching`, `joins`, `same-object` or `duplicate-of`. A point has at least
	// `same-spot-finds` of them. One notice a point, at `/position` of the find that reaches the number.
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, spot := range log.same(spotKey) {
			spot = slices.DeleteFunc(spot, func(i int) bool { return log.line(i).flags&ownsSpot == 0 })
			if n := c.Settings.SameSpotFinds; len(spot) >= max(n, 1) {
				say(log.ref(spot[max(n, 1)-1]), "/position",
					fmt.Sprintf("%d finds that are not lots stand at exactly this point", len(spot)))
			}
		}
	},
}

// claimsSpot reports that the position claims to be that of one object and that nothing in the record
// explains why another find should have the same.
func claimsSpot(f *find.Find) bool {
	p := f.Position
	if _, ok := pointOf(p); !ok || f.Kind == "lot" || f.PartOf != "" || f.Generalised["/position"] != "" ||
		p.UncertaintyBasis.Is("square", "generalised") || p.Method.Is("grid-reference", "field-centroid", "told",
		"dms-seconds") {
		return false
	}
	for i := range f.Associated {
		if f.Associated[i].Relation.Is("same-hole", "touching", "joins", "same-object", "duplicate-of") {
			return false
		}
	}
	return true
}

// firstPicture returns when the first of the pictures of a find was taken, as they say themselves.
func firstPicture(c *Case) (first moment, ok bool) {
	for i := range c.Find.Media {
		stated := c.Find.Media[i].TakenAt
		if stated == "" {
			stated, _ = takenAt(c, c.Find.Media[i].File)
		}
		m, known := momentOf(stated)
		if known && (!ok || m.day.Compare(first.day) < 0 || m.day == first.day && m.minute < first.minute) {
			first, ok = m, true
		}
	}
	return first, ok
}

var photoAfterOuting = &Rule{
	Kind: kinds.PhotoAfterOuting,
	// When: `/position/method` is `photo`. The time of the picture is `/position/takenAt`; where that is missing, the
	// earliest of the pictures of the find, by `takenAt` of each or what the file says (Exif), unless the spot lies
	// inside the `area` of the permission as in `outside-permission`. The find names an outing whose `date` is one full
	// day. With the end of the outing and the time of day of the picture known, and both clocks of one offset or none
	// or that of the picture not UTC: the picture was taken more than `photo-slack` minutes after the end, which is on
	// the next day if it is earlier in the day than the start. Else only days are compared: it was taken two days after
	// that day or later, or one day after and its time does not end in `Z`; if it was not, that is not checked. Not
	// checked either where picture or outing has no day. At `/position/takenAt`, or `/position` where that is missing.
	Check: func(c *Case, say Say) {
		p := c.Find.Position
		if p == nil || !p.Method.Is("photo") {
			return
		}
		taken, ok := momentOf(p.TakenAt)
		at := "/position/takenAt"
		if p.TakenAt == "" {
			taken, ok = firstPicture(c)
			at = "/position"
			if where := c.placed(); !where.impossible && !where.unbounded && where.verdict == coordinate.Inside {
				ok = false // on the land of its permission: the picture that it is of need not be among those listed
			}
		}
		if !ok || c.Outing == nil {
			c.NotChecked()
			return
		}
		day, ok := momentOf(c.Outing.Date)
		if !ok {
			c.NotChecked()
			return
		}
		minutes := daysBetween(day.day, taken.day) * 24 * 60
		end, okEnd := clockOf(c.Outing.End)
		start, okStart := clockOf(c.Outing.Start)
		switch {
		case !okEnd || taken.minute < 0 || !sameZone(taken, end) && taken.zone == utc:
			// Only the days can be compared; a clock set to UTC can be a day off.
			late := minutes > 24*60 || minutes == 24*60 && taken.zone != utc
			if late {
				say(at, "the picture was taken after the day of the outing")
			} else {
				c.NotChecked()
			}
		default:
			over := end.minute
			if okStart && over < start.minute {
				over += 24 * 60 // past midnight
			}
			if minutes+taken.minute > over+c.Settings.PhotoSlack {
				say(at, "the picture was taken after the outing had ended")
			}
		}
	},
}

var positionsDisagree = &Rule{
	Kind: kinds.PositionsDisagree,
	// When: The position has longitude and latitude, and `generalised` does not name `/position`. For each of
	// `otherPositions` with longitude and latitude, or with a `verbatim` that can be read (section 4.2): the distance
	// to the position, as in `datum-unknown`, is more than the sum of both radii, as in `outside-permission`, and 1 m;
	// for a text without `uncertainty` the radius is the one that was read. Not checked for one that has neither. At
	// each `/otherPositions/N`.
	Check: func(c *Case, say Say) {
		f := c.Find
		main, ok := pointOf(f.Position)
		if !ok || len(f.OtherPositions) == 0 || f.Generalised["/position"] != "" {
			return
		}
		radius, _ := radiusOf(f.Position)
		for i := range f.OtherPositions {
			p := &f.OtherPositions[i]
			point, ok := pointOf(p)
			other, _ := radiusOf(p)
			if !ok && p.Verbatim != "" {
				r, err := readPosition(p.Verbatim, coordinate.Options{System: p.ReferenceSystem, Language: c.Report.Language})
				if ok = err == nil && r.Absent == ""; ok {
					point = r.Point
					if !p.Uncertainty.Known() {
						other = r.Uncertainty
					}
				}
			}
			if !ok {
				c.NotChecked()
				continue
			}
			if d := apart(main, point); d > radius+other+1 {
				say(fmt.Sprintf("/otherPositions/%d", i),
					fmt.Sprintf("this lies about %s m from the main position; together they allow %s m", figure(d),
						figure(radius+other)))
			}
		}
	},
}
