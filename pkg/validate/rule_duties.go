package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// Duties that hang on the place and not on treasure: licence, report, depth, ground, water, what is kept and how,
// export, and whose it is. Each is asked by the rows of schema/data/law.json that bear its name.
var dutyRules = []*Rule{licenceNotRecorded, reportNotRecorded, lawDepth, lawGround, lawWater, lawKeep, lawExport,
	lawOwner}

var licenceNotRecorded = &Rule{
	Kind: kinds.LicenceNotRecorded,
	Header: func(c *Case, say Say) {
		if !ours(c.Report) {
			return
		}
		for i := range c.Report.Permissions {
			p := &c.Report.Permissions[i]
			if p.DocumentNumber != "" || p.Basis.Is("heritage-consent", "public-body-licence", "archaeologist-project") {
				continue
			}
			land := Case{Report: c.Report, Permission: p, Settings: c.Settings, AsOf: c.AsOf}
			first, _ := spanOf(p.ValidFrom)
			last, _ := spanOf(p.ValidTo)
			var words []string
			here := theTables().law.Of(jurisdictionOfPermission(p))
			for _, r := range here.On("licence", first.first, last.last) {
				switch r.Holds.And(land.meets(&r.Applies)) {
				case law.CannotTell:
					c.NotChecked()
				case law.Yes:
					words = append(words, c.words(r.Row))
				}
			}
			if len(words) == 0 {
				continue
			}
			words = append(words, c.alsoAsk(here, "licence")...)
			say(fmt.Sprintf("/permissions/%d/documentNumber", i),
				"no licence or consent of an authority is recorded. "+strings.Join(words, " "))
		}
	},
}

// alsoAsk returns what else is said of a topic in a place that feeds no rule, such as an act that is not shown to be
// in force: a thing to ask.
func (c *Case) alsoAsk(here *law.Place, topic string) (words []string) {
	for _, r := range here.On("", c.AsOf, c.AsOf) {
		if r.Holds == law.Yes && r.Topic == topic && !r.IsLaw() && !slices.Contains(r.Applies.Activity, "acquiring") {
			words = append(words, c.words(r.Row))
		}
	}
	return words
}

var reportNotRecorded = &Rule{
	Kind: kinds.ReportNotRecorded,
	Across: func() Across {
		open, last := map[*law.Row]*someFinds{}, map[*law.Row]string{}
		return Across{
			Find: func(c *Case, ref Ref, _ Say) {
				if !ours(c.Report) || c.law().Code == "" {
					return // told once by law-not-checked
				}
				for _, r := range c.lawRows("report") {
					if r.Topic == "age" || r.Applies.NotReported {
						continue
					}
					switch r.Holds.And(c.meets(&r.Applies)) {
					case law.CannotTell:
						c.NotChecked()
					case law.Yes:
						if row, _, _ := treasureRow(c); row != nil {
							continue
						}
						c.due(clockFor(c, r.Row, tellFind))
						for _, newer := range c.law().On("", c.AsOf, c.AsOf) {
							if newer.Topic == r.Topic && newer.Topic == "report-deadline" && newer.Holds == law.Yes && !newer.IsLaw() {
								c.due(clockFor(c, newer.Row, tellFind))
							}
						}
						if !reported(c.Find) {
							open[r.Row] = open[r.Row].with(ref)
							last[r.Row] = c.law().Code
						}
					}
				}
			},
			End: func(c *Case, say SayOf) {
				for _, r := range theTables().law.Asking("report") {
					n := open[r]
					if n == nil {
						continue
					}
					here := theTables().law.Of(last[r])
					words := []string{fmt.Sprintf("for %s no report is recorded.", n), c.words(r)}
					for _, beside := range slices.Concat(here.On("report", c.AsOf, c.AsOf), here.On("", c.AsOf, c.AsOf),
						here.On("treasure-metal", c.AsOf, c.AsOf)) {
						if a := &beside.Applies; beside.Topic == "age" || a.NotReported || a.Any || a.Suspected != "" && beside.IsLaw() {
							words = append(words, beside.Rule)
						}
					}
					if r.Topic == "report-deadline" {
						words = append(words, c.alsoAsk(here, "report-deadline")...)
					}
					say(reportRef, "/permissions", strings.Join(words, " "))
				}
			},
		}
	},
}

// someFinds are the first finds of a number of them, by what they are called.
type someFinds struct {
	n      int
	labels []string
}

// with returns the finds with another one.
func (s *someFinds) with(ref Ref) *someFinds {
	if s == nil {
		s = &someFinds{}
	}
	if s.n++; ref.Label != "" && !strings.HasPrefix(ref.Label, "urn:") && len(s.labels) < 5 {
		s.labels = append(s.labels, ref.Label)
	}
	return s
}

// String counts the finds and names the first: 7 finds (3, 4, 5, 9, 12 and others).
func (s *someFinds) String() string {
	switch {
	case len(s.labels) == 0:
		return findsText(s.n)
	case s.n == 1:
		return "find " + s.labels[0]
	case len(s.labels) < s.n:
		return fmt.Sprintf("%d finds (%s and others)", s.n, strings.Join(s.labels, ", "))
	}
	return fmt.Sprintf("%d finds (%s)", s.n, strings.Join(s.labels, ", "))
}

func findsText(n int) string {
	if n == 1 {
		return "one find"
	}
	return fmt.Sprintf("%d finds", n)
}

// sayLaw says of one find what the rows of some rules ask whose conditions it meets. A row whose conditions hang on
// protected ground is left to protected-ground.
func sayLaw(c *Case, say Say, at func(r *law.Row) string, rules ...string) {
	if !ours(c.Report) {
		return
	}
	open := false
	for _, rule := range rules {
		for _, r := range c.lawRows(rule) {
			if r.Applies.Near != "" && len(r.Applies.OrGround) == 0 {
				continue
			}
			switch r.Holds.And(c.meets(&r.Applies)) {
			case law.Yes:
				say(at(r.Row), c.words(r.Row))
			case law.CannotTell:
				open = true
			}
		}
	}
	if open {
		c.NotChecked()
	}
}

func atMember(pointer string) func(*law.Row) string { return func(*law.Row) string { return pointer } }

var lawDepth = &Rule{
	Kind:  kinds.LawDepth,
	Check: func(c *Case, say Say) { sayLaw(c, say, atMember("/depth"), "depth") },
}

var lawGround = &Rule{
	Kind:  kinds.LawGround,
	Check: func(c *Case, say Say) { sayLaw(c, say, atMember(""), "protected") },
}

var lawWater = &Rule{
	Kind:  kinds.LawWater,
	Check: func(c *Case, say Say) { sayLaw(c, say, atMember(""), "water") },
}

var lawKeep = &Rule{
	Kind: kinds.LawKeep,
	Check: func(c *Case, say Say) {
		if reported(c.Find) {
			return
		}
		sayLaw(c, say, func(r *law.Row) string {
			switch {
			case slices.Contains(r.Applies.Activity, "cleaning") && c.did("cleaning") == law.Yes:
				return "/cleaning"
			case slices.Contains(r.Applies.Activity, "disposing") && c.did("disposing") == law.Yes:
				return "/disposition"
			}
			return ""
		}, "not-remove", "no-cleaning", "keep")
		if r := theTables().law.Row("radium", c.law().Code); r != nil && ours(c.Report) && c.meets(&r.Applies) == law.Yes {
			say("", c.words(r))
		}
	},
}

var lawExport = &Rule{
	Kind:  kinds.LawExport,
	Check: func(c *Case, say Say) { sayLaw(c, say, atMember(""), "export") },
}

var lawOwner = &Rule{
	Kind: kinds.LawOwner,
	Across: func() Across {
		met := map[*law.Row]*someFinds{}
		return Across{
			Find: func(c *Case, ref Ref, _ Say) {
				if !ours(c.Report) || reported(c.Find) {
					return
				}
				for _, rule := range [...]string{"ownership", "permission", ""} {
					for _, r := range c.lawRows(rule) {
						if rule == "" && (r.Topic != "ownership" || r.Applies.Any) {
							continue
						}
						switch r.Holds.And(c.meets(&r.Applies)) {
						case law.CannotTell:
							c.NotChecked()
						case law.Yes:
							met[r.Row] = met[r.Row].with(ref)
						}
					}
				}
			},
			End: func(c *Case, say SayOf) {
				rows := theTables().law.Rows
				for i := range rows {
					if n := met[&rows[i]]; n != nil {
						say(reportRef, "/permissions", strings.ToUpper(n.String()[:1])+n.String()[1:]+". "+c.words(&rows[i]))
					}
				}
			},
		}
	},
}
