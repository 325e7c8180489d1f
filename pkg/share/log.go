package share

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// An Export is what the owner's log keeps of one copy. It holds the way back from the copy to the
// source: the log is for nobody but the owner.
type Export struct {
	Day      string   `json:"day,omitzero"` // ISO 8601
	Audience Audience `json:"audience"`
	File     string   `json:"file,omitzero"`   // name the copy was written under, without folder
	SHA256   string   `json:"sha256,omitzero"` // of the copy
	Finds    []Grade  `json:"finds"`
}

// A Grade is how finely one find was shown.
type Grade struct {
	ID        string      `json:"id"`              // in the source
	Number    string      `json:"number,omitzero"` // in the source, for people
	Copy      string      `json:"copy,omitzero"`   // in the copy, where it is another one
	Position  string      `json:"position"`        // exact, grid-0.01, grid-0.1, grid-1, or none
	Latitude  find.Number `json:"latitude,omitzero"`
	Longitude find.Number `json:"longitude,omitzero"`
	Date      string      `json:"date,omitzero"` // as it was shown
}

// Grades returns the entry for the log of a copy that was made.
func (c *Copied) Grades() Export {
	out := Export{Audience: Audience(c.Report.Audience), Finds: []Grade{}}
	for _, f := range c.Report.Finds {
		g := Grade{ID: f.ID, Position: "none"}
		if id, ok := c.Back[f.ID]; ok {
			g.ID, g.Copy = id, f.ID
		} else if out.Audience == Public {
			continue // the record that only counts
		}
		g.Number = c.labels[g.ID]
		if p := f.Position; p != nil && p.Latitude.Known() && p.Longitude.Known() {
			g.Position, g.Latitude, g.Longitude = "exact", p.Latitude, p.Longitude
			if grid := f.Generalised["/position"]; grid != "" {
				g.Position = grid
			}
		}
		if f.Found != nil {
			g.Date = f.Found.Date
		}
		out.Finds = append(out.Finds, g)
	}
	return out
}

// ReadLog reads a log of exports, one JSON object a line. Of the limits Side is looked at.
func ReadLog(r io.Reader, limits limit.Limits) ([]Export, error) {
	var out []Export
	lines := bufio.NewReader(limit.Reader(r, "side", limits.WithDefaults().Side))
	for n := 1; ; n++ {
		line, err := lines.ReadBytes('\n')
		if over := limit.Of(err); over != nil {
			return nil, over
		}
		if len(line) > 1 {
			var e Export
			if err := json.Unmarshal(line, &e); err != nil {
				return nil, fmt.Errorf("line %d of the log of exports cannot be read: %w", n, err)
			}
			if _, err := ParseAudience(string(e.Audience)); err != nil {
				return nil, fmt.Errorf("line %d is no entry of a log of exports: it names no audience", n)
			}
			out = append(out, e)
		}
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("reading the log of exports: %w", err)
		}
	}
}

// Append writes one entry of the log.
func (e Export) Append(w io.Writer) error {
	b, err := json.Marshal(e)
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// A Narrowing is a find of which two copies together tell more than one of them.
type Narrowing struct {
	ID   string // of the find in the source
	Find string // its number or name in the source; empty: it has none
	With Export // the earlier copy; its finds are left out
	Text string // what is told; it quotes no place
}

// Narrowings compares a copy with the earlier ones: two grades of one find that cross, where one
// has the finer place and the other the finer day; two that lie in different cells; and one that
// is finer than what the same audience was shown before.
func Narrowings(earlier []Export, next Export) []Narrowing {
	var out []Narrowing
	grades := map[string]*Grade{}
	for i := range next.Finds {
		grades[next.Finds[i].ID] = &next.Finds[i]
	}
	for _, e := range earlier {
		head := e
		head.Finds = nil
		for i := range e.Finds {
			old := &e.Finds[i]
			if g := grades[old.ID]; g != nil {
				if text := narrows(old, g, e.Audience == next.Audience); text != "" {
					out = append(out, Narrowing{ID: g.ID, Find: g.Number, With: head, Text: text})
				}
			}
		}
	}
	return out
}

func narrows(old, g *Grade, same bool) string {
	oldSide, side := old.side(), g.side()
	oldDay, day := fineness(old.Date), fineness(g.Date)
	switch {
	case oldSide > 0 && side > 0 && !math.IsInf(oldSide, 1) && !math.IsInf(side, 1) && !old.nests(g):
		return "the two copies put it in different cells; together they show where the two meet"
	case side < oldSide && oldDay > day, oldSide < side && day > oldDay:
		return "one copy has the finer place, the other the finer day; together they are finer than each"
	case same && side < oldSide:
		return "the same audience was shown a coarser place before"
	case same && day > oldDay:
		return "the same audience was shown a coarser day before"
	}
	return ""
}

// side of the cell in degrees: 0 for an exact place, infinite for none.
func (g *Grade) side() float64 {
	if g.Position == "exact" {
		return 0
	}
	for _, s := range steps {
		if s.name == g.Position {
			return float64(s.side) / 1e7
		}
	}
	return math.Inf(1)
}

// nests tells whether one of two cells lies within the other.
func (g *Grade) nests(o *Grade) bool {
	side := int64(math.Round(max(g.side(), o.side()) * 1e7))
	a, b := &find.Position{Latitude: g.Latitude, Longitude: g.Longitude}, &find.Position{Latitude: o.Latitude, Longitude: o.Longitude}
	return floorDiv(units(a.Latitude), side) == floorDiv(units(b.Latitude), side) && floorDiv(units(a.Longitude), side) == floorDiv(units(b.Longitude), side)
}

// fineness ranks a date: 0 for none, then year, season or month, day.
func fineness(date string) int {
	d, err := edtf.Parse(date)
	if err != nil {
		return 0
	}
	switch d.Precision() {
	case edtf.PrecisionDay:
		return 3
	case edtf.PrecisionMonth:
		return 2
	}
	return 1
}
