package validate

import (
	"fmt"
	"hash/maphash"
	"math"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/schemacheck"
)

// ofTheThing reports whether a member of a find speaks of what was found: two records that differ in others alone are
// twins.
func ofTheThing(name string) bool {
	switch name {
	case "id", "number", "source", "recorded", "changed":
		return false
	}
	return true
}

// twinSum sums up a record that cannot be laid out.
func twinSum(f *find.Find) uint64 {
	g := *f
	g.ID, g.Number, g.Source, g.Recorded, g.Changed = "", "", nil, nil, ""
	raw, _ := find.Append(nil, &g)
	return maphash.Bytes(rollSeed, raw) | 1
}

// twinOf sums up a record of its members, but for what is not of the thing. Of the cells that are kept beside it marks
// for the line above do not count: what they stand for was taken from there.
func twinOf(f *find.Find, members []schemacheck.Member) uint64 {
	var sum uint64
	for _, m := range members {
		switch {
		case m.Name == "columns":
			for heading, text := range f.Columns {
				if !ditto(text) {
					sum += sumOf(heading + "\x00" + text)
				}
			}
		case ofTheThing(m.Name):
			sum += tape.SumMember(m.Named, m.Sum)
		}
	}
	return sum | 1
}

// twinOfTape does the same for a record on a tape.
func twinOfTape(f *find.Find, t *tape.Tape, i uint32) uint64 {
	var members []schemacheck.Member
	for at := i + 1; at < t.Nodes[i].Next; at = t.Nodes[at+1].Next {
		members = append(members, schemacheck.Member{Name: string(t.Bytes(at)), Named: t.Nodes[at].Count, Sum: t.Sum(at + 1)})
	}
	return twinOf(f, members)
}

// ditto reports whether a text is a mark or a word for the line above.
func ditto(text string) bool {
	plain := strings.ToLower(strings.TrimRight(strings.TrimSpace(text), "."))
	return plain == "" || heading.RowWords("ditto")[plain] || !strings.ContainsFunc(plain, func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r)
	})
}

// metres is how far another find lies from this one.
func (l *line) metres(o *line) float64 {
	x := math.Remainder((float64(l.x)-float64(o.x))/1e7, 360) * degreeMetres * math.Cos(float64(l.y)/1e7*math.Pi/180)
	return math.Hypot(x, (float64(l.y)-float64(o.y))/1e7*degreeMetres)
}

var givenAndAbsent = &Rule{
	Kind:  kinds.GivenAndAbsent,
	Check: func(c *Case, say Say) { bothSaid(c.Find, c.Find.Absent, "", say) },
	Header: func(c *Case, say Say) {
		bothSaid(c.Report, c.Report.Absent, "", say)
		for i := range c.Report.People {
			bothSaid(&c.Report.People[i], c.Report.People[i].Absent, fmt.Sprintf("/people/%d", i), say)
		}
		for i := range c.Report.Permissions {
			bothSaid(&c.Report.Permissions[i], c.Report.Permissions[i].Absent, fmt.Sprintf("/permissions/%d", i), say)
		}
		for i := range c.Report.Outings {
			bothSaid(&c.Report.Outings[i], c.Report.Outings[i].Absent, fmt.Sprintf("/outings/%d", i), say)
		}
	},
}

// bothSaid says which members of a record are given and absent.
func bothSaid[T find.Record](record *T, absent map[string]string, at string, say Say) {
	for pointer, reason := range absent {
		if strings.HasPrefix(pointer, "/") && find.Given(record, pointer) {
			say(at+pointer, "it is given, and absent says "+reason)
		}
	}
}

var absentRules = []*Rule{givenAndAbsent}
