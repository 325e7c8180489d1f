package validate

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var sharingRules = []*Rule{generalisedTooSure, generalisedOffGrid, positionTooExact, withheldUnsaid, nameWithoutConsent,
	otherLandowner, privateInCopy, openDespiteReason, embargoPassed, privateInWords}

var generalisedTooSure = &Rule{
	Kind: kinds.GeneralisedTooSure,
	Check: func(c *Case, say Say) {
		f := c.Find
		how := f.Generalised["/position"]
		if how == "" || f.Position == nil || !f.Position.Latitude.Known() {
			return
		}
		cell, ok := strings.CutPrefix(how, "grid-")
		degrees, err := strconv.ParseFloat(cell, 64)
		if !ok || err != nil || degrees <= 0 {
			c.NotChecked()
			return
		}
		half := halfDiagonal(f.Position, degrees)
		switch u := f.Position.Uncertainty; {
		case math.IsNaN(half):
			c.NotChecked()
		case !u.Known():
			say("/position/uncertainty", fmt.Sprintf("the position was made coarser to %s, and no uncertainty is given", how))
		case u.Float() < math.Floor(half):
			say("/position/uncertainty",
				fmt.Sprintf("the position was made coarser to %s, but its uncertainty is less than half the diagonal of such a "+
					"cell", how))
		}
	},
}

var generalisedOffGrid = &Rule{
	Kind: kinds.GeneralisedOffGrid,
	Check: func(c *Case, say Say) {
		f := c.Find
		cell, ok := strings.CutPrefix(f.Generalised["/position"], "grid-")
		if !ok || f.Position == nil || !f.Position.Latitude.Known() || !f.Position.Longitude.Known() {
			return
		}
		degrees, err := strconv.ParseFloat(cell, 64)
		if err != nil || degrees < 1e-6 || degrees > 90 {
			return // told by generalised-too-sure, which cannot check it
		}
		side := int64(math.Round(degrees * 1e7))
		for _, v := range []find.Number{f.Position.Latitude, f.Position.Longitude} {
			if at := int64(math.Round(v.Float() * 1e7)); ((at-side/2)%side+side)%side != 0 {
				say("/position",
					fmt.Sprintf("it is called made coarser to grid-%s, and it is not the middle of a cell of that grid", cell))
				return
			}
		}
	},
}

// halfDiagonal returns half the diagonal in metres of a cell of so many degrees about a position.
func halfDiagonal(p *find.Position, degrees float64) float64 {
	centre := coordinate.Point{Longitude: p.Longitude.Float(), Latitude: p.Latitude.Float()}
	corner := coordinate.Point{Longitude: centre.Longitude + degrees/2, Latitude: centre.Latitude - degrees/2}
	if centre.Latitude < 0 {
		corner.Latitude = centre.Latitude + degrees/2 // the longer side is the one nearer the equator
	}
	return coordinate.Distance(centre, corner)
}

var positionTooExact = &Rule{
	Kind: kinds.PositionTooExact,
	Check: func(c *Case, say Say) {
		f := c.Find
		if c.Report.Audience != "public" && c.Report.Audience != "expert" {
			return
		}
		if f.Position == nil || !f.Position.Latitude.Known() || f.Generalised["/position"] != "" {
			return
		}
		// A point that was never known better than the cell may stay as it is.
		if u := f.Position.Uncertainty; u.Known() && u.Float() >= math.Floor(halfDiagonal(f.Position, 0.01)) {
			c.NotChecked()
			return
		}
		say("/position",
			fmt.Sprintf("this copy is for the audience %s, and the position does not say that it was made coarser",
				c.Report.Audience))
	},
}

var withheldUnsaid = &Rule{
	Kind: kinds.WithheldUnsaid,
	Check: func(c *Case, say Say) {
		f := c.Find
		if ours(c.Report) && c.Report.CopyOf == "" {
			return
		}
		of := c.Report.Audience
		seen := of == "recorder" || of == "partner" || of == "landowner"
		accounted := func(pointers ...string) bool {
			for _, p := range pointers {
				if f.Absent[p] != "" && (seen || f.Absent[p] != "blank") || f.Generalised[p] != "" {
					return true
				}
			}
			return false
		}
		if f.Position == nil && f.Place == nil && !accounted("/position", "/place") {
			say("/position", "the copy bears no position and no place, and does not say that they were withheld")
		}
		if f.Found == nil && !accounted("/found", "/found/date") {
			say("/found", "the copy bears no day of finding, and does not say that it was withheld")
		}
		if f.Finder == "" && !accounted("/finder") {
			say("/finder", "the copy names no finder, and does not say that the name was withheld")
		}
		if f.Depth == nil && f.Layer == nil && !seen && !accounted("/depth") {
			say("/depth", "the copy bears no depth, and does not say that it was withheld")
		}
	},
}

var nameWithoutConsent = &Rule{
	Kind: kinds.NameWithoutConsent,
	Header: func(c *Case, say Say) {
		r := c.Report
		if ours(r) {
			return
		}
		for i := range r.People {
			p := &r.People[i]
			if p.Name == "" && p.Contact == "" || consents(p, r.Audience) || r.Audience == "landowner" && grants(r, p.ID) {
				continue
			}
			if p.Name != "" {
				say(fmt.Sprintf("/people/%d/name", i),
					fmt.Sprintf("no consent of this person for the audience %s is recorded", r.Audience))
			}
			if p.Contact != "" {
				say(fmt.Sprintf("/people/%d/contact", i),
					fmt.Sprintf("no consent of this person for the audience %s is recorded", r.Audience))
			}
		}
	},
}

func consents(p *find.Person, audience string) bool {
	for i := range p.Consents {
		if p.Consents[i].Audience == audience {
			return true
		}
	}
	return false
}

func grants(r *find.Report, person string) bool {
	for i := range r.Permissions {
		if r.Permissions[i].GrantedBy == person || r.Permissions[i].Occupier == person {
			return true
		}
	}
	return false
}

var otherLandowner = &Rule{
	Kind: kinds.OtherLandowner,
	Header: func(c *Case, say Say) {
		r := c.Report
		if r.Audience != "landowner" {
			return
		}
		first := ""
		for i := range r.Permissions {
			switch by := r.Permissions[i].GrantedBy; {
			case by == "":
				c.NotChecked()
			case first == "":
				first = by
			case by != first:
				say(fmt.Sprintf("/permissions/%d", i),
					"this permission was granted by another person than the first one, and the copy is for one landowner")
			}
		}
	},
}

var privateInCopy = &Rule{
	Kind: kinds.PrivateInCopy,
	Check: func(c *Case, say Say) {
		if ours(c.Report) {
			return
		}
		if c.Find.StoragePlace != "" {
			say("/storagePlace", "the copy tells where the object is kept")
		}
		if c.Find.Value != "" {
			say("/value", "the copy tells what the object is worth")
		}
	},
}

var openDespiteReason = &Rule{
	Kind: kinds.OpenDespiteReason,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Sensitivity != "open" {
			return
		}
		for i := range f.SensitivityReasons {
			if r := &f.SensitivityReasons[i]; r.Is("hoard", "burial", "undug-site", "legal-process", "protected-site",
				"ordnance") {
				say("/sensitivity", fmt.Sprintf("open, although a reason is given: %s", r.Code))
				return
			}
		}
		if f.HumanRemains != nil && *f.HumanRemains || classOf(f) == "human-remains" {
			say("/sensitivity", "open, although human remains are recorded")
		}
	},
}

var embargoPassed = &Rule{
	Kind: kinds.EmbargoPassed,
	Check: func(c *Case, say Say) {
		if c.Find.EmbargoUntil == "" {
			return
		}
		until, ok := spanOf(c.Find.EmbargoUntil)
		switch {
		case c.AsOf.IsZero() || !ok:
			c.NotChecked()
		case until.first.Compare(c.AsOf) <= 0:
			say("/embargoUntil", "the embargo has run out; look at the record before it is shown to others")
		}
	},
}
