package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
)

// A tally counts the vectors of one class of one target in one part of the suite.
type tally struct {
	Right       int `json:"right"`
	Wrong       int `json:"wrong"`
	Unsupported int `json:"notImplemented"` // claimed, and answered with unsupported
	Unclaimed   int `json:"notClaimed"`
	Faulty      int `json:"suiteAtFault"`
}

// A fault is a vector that came out otherwise than expected.
type fault struct {
	Vector       string   `json:"vector"`
	Folder       string   `json:"folder"`
	Target       string   `json:"target"`
	Class        string   `json:"class"`
	Requirements []string `json:"requirements"`
	Why          string   `json:"why"`
	Wrong        []string `json:"wrong"`
}

// A summary gathers the outcome.
type summary struct {
	claim       claim
	tallies     map[string]map[string]map[string]*tally // folder, target, class
	faults      []fault
	unsupported map[string]int
	unclaimed   map[string]int
	codes       scores
	due         map[string]bool // codes that some vector of this run is about
}

func newSummary(c claim) *summary {
	return &summary{claim: c, tallies: map[string]map[string]map[string]*tally{}, unsupported: map[string]int{},
		unclaimed: map[string]int{}, codes: scores{}, due: map[string]bool{}}
}

// asked are the claims with the codes that this run asks for: where only some vectors are run, others are neither met
// nor missed.
func (s *summary) asked() *suite.Claims {
	if s.claim.Claims == nil {
		return nil
	}
	c := *s.claim.Claims
	c.Codes = slices.DeleteFunc(slices.Clone(c.Codes), func(code string) bool { return !s.due[code] })
	return &c
}

func (s *summary) add(v *suite.Vector, r trial) {
	targets := s.tallies[v.Folder]
	if targets == nil {
		targets = map[string]map[string]*tally{}
		s.tallies[v.Folder] = targets
	}
	if targets[v.Target] == nil {
		targets[v.Target] = map[string]*tally{}
	}
	t := targets[v.Target][v.Class]
	if t == nil {
		t = new(tally)
		targets[v.Target][v.Class] = t
	}
	for _, code := range v.Tests() {
		s.due[code] = true
	}
	switch {
	case r.faulty != "":
		t.Faulty++
		return
	case r.unclaimed != "":
		t.Unclaimed++
		s.unclaimed[r.unclaimed]++
		return
	case r.unsupported != "":
		t.Unsupported++
		s.unsupported[r.unsupported]++
		return
	case len(r.wrong) > 0:
		t.Wrong++
		s.faults = append(s.faults, fault{v.ID, v.Folder, v.Target, v.Class, v.Requirements, v.Why, r.wrong})
	default:
		t.Right++
	}
	s.codes.count(v, r, s.claim.Claims)
}

// met reports whether everything came out right that was tried, and anything was.
func (s *summary) met() bool {
	right := 0
	for _, targets := range s.tallies {
		for _, classes := range targets {
			for _, t := range classes {
				right += t.Right
			}
		}
	}
	return right > 0 && len(s.faults) == 0 && s.codes.met(s.asked())
}

// A verdict is what can be said of one target, or of one class of it, in one part of the suite.
func (t tally) verdict() string {
	switch {
	case t.Wrong > 0:
		return "not met"
	case t.Right == 0 && t.Unsupported > 0:
		return "not implemented"
	case t.Right == 0 && t.Unclaimed > 0:
		return "not claimed"
	case t.Right == 0:
		return "suite at fault"
	case t.Unsupported > 0 || t.Unclaimed > 0:
		return "met in part"
	}
	return "met"
}

func sum(classes map[string]*tally) tally {
	var all tally
	for _, t := range classes {
		all.Right += t.Right
		all.Wrong += t.Wrong
		all.Unsupported += t.Unsupported
		all.Unclaimed += t.Unclaimed
		all.Faulty += t.Faulty
	}
	return all
}

type outcome struct {
	Folder  string `json:"folder"`
	Target  string `json:"target"`
	Class   string `json:"class,omitempty"` // empty: the target as a whole
	Verdict string `json:"verdict"`
	tally
}

// outcomes lists targets and their classes in the order of the specification.
func (s *summary) outcomes() []outcome {
	list := []outcome{}
	for _, folder := range suite.Folders() {
		for _, target := range suite.Targets() {
			classes := s.tallies[folder][target]
			if len(classes) == 0 {
				continue
			}
			all := sum(classes)
			list = append(list, outcome{folder, target, "", all.verdict(), all})
			for _, class := range slices.Sorted(maps.Keys(classes)) {
				t := *classes[class]
				list = append(list, outcome{folder, target, class, t.verdict(), t})
			}
		}
	}
	return list
}

// text is the outcome for people.
func (s *summary) text() string {
	var b strings.Builder
	for _, f := range s.faults {
		fmt.Fprintf(&b, "%s (%s, %s/%s, requirement %s): %s\n", f.Vector, f.Folder, f.Target, f.Class,
			strings.Join(f.Requirements, ", "), f.Why)
		for _, w := range f.Wrong {
			fmt.Fprintf(&b, "    %s\n", w)
		}
	}
	fmt.Fprintf(&b, "\n%s %s\n", s.claim.Implementation, s.claim.Version)
	all := tally{}
	for _, o := range s.outcomes() {
		if o.Class != "" && o.Verdict == "not claimed" {
			continue
		}
		if o.Class == "" {
			fmt.Fprintf(&b, "\n%-9s %-11s %-15s", o.Folder, o.Target, o.Verdict)
			all.Right += o.Right
			all.Wrong += o.Wrong
			all.Unsupported += o.Unsupported
			all.Unclaimed += o.Unclaimed
			all.Faulty += o.Faulty
		} else {
			fmt.Fprintf(&b, "          - %-19s %-15s", o.Class, o.Verdict)
		}
		fmt.Fprintf(&b, " %4d right", o.Right)
		for _, n := range []struct {
			count int
			what  string
		}{{o.Wrong, "wrong"}, {o.Unsupported, "not supported"}, {o.Unclaimed, "not claimed"}, {o.Faulty, "withdrawn"}} {
			if n.count > 0 {
				fmt.Fprintf(&b, ", %d %s", n.count, n.what)
			}
		}
		b.WriteByte('\n')
	}
	for _, list := range []struct {
		what  string
		count map[string]int
	}{{"not supported", s.unsupported}, {"not claimed", s.unclaimed}} {
		for _, what := range slices.Sorted(maps.Keys(list.count)) {
			fmt.Fprintf(&b, "\n%s: %s (%d)", list.what, what, list.count[what])
		}
	}
	if s.claim.Claims != nil && len(s.claim.Claims.Codes) > 0 {
		b.WriteString(s.codes.text())
	}
	fmt.Fprintf(&b, "\n%d vectors right, %d wrong, %d not supported, %d not claimed\n", all.Right, all.Wrong,
		all.Unsupported, all.Unclaimed)
	return b.String()
}
