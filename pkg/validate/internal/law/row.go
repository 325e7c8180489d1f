package law

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
)

// Row is one thing that may apply in some places.
type Row struct {
	ID            string     `json:"id"`
	Jurisdictions []string   `json:"jurisdictions"`
	Topic         string     `json:"topic"`
	Asks          string     `json:"asks"` // the rule of the validator that it feeds; empty: told beside another
	Rule          string     `json:"rule"` // one sentence
	Ask           string     `json:"ask"`  // who is asked or told
	Deadline      string     `json:"deadline"`
	DeadlineWords string     `json:"deadlineWords"`
	DeadlineFrom  string     `json:"deadlineFrom"`
	Applies       Conditions `json:"applies"`
	Instrument    string     `json:"instrument"`
	Section       string     `json:"section"`
	SourceTitle   string     `json:"sourceTitle"`
	SourceKind    string     `json:"sourceKind"`
	Seen          string     `json:"seen"` // yes, partly, memory
	SeenBy        string     `json:"seenBy"`
	SeenOn        string     `json:"seenOn"`
	TextAsOf      string     `json:"textAsOf"`
	From          string     `json:"from"` // in force, where known
	To            string     `json:"to"`
	Standing      string     `json:"standing"` // law, or what to say in its place
	Note          string     `json:"note"`

	first, last edtf.Day // of being in force; zero: not known
	looked      edtf.Day // when it was last looked at; zero: never
	fallback    bool
}

// Conditions say to what a row applies: all that are given must hold, AnyOf one of its own, OrGround in place of Near
// or Words.
type Conditions struct {
	Any                bool         `json:"any"`
	Class              []string     `json:"class"`
	NotClass           []string     `json:"notClass"`
	Use                string       `json:"use"`
	Material           []string     `json:"material"`
	AnyPart            bool         `json:"anyPart"`
	AnyPrecious        bool         `json:"anyPrecious"`
	PreciousMainly     bool         `json:"preciousMainly"`
	PreciousPercentMin int          `json:"preciousPercentMin"`
	AgeYearsMin        int          `json:"ageYearsMin"`
	AgeYearsMax        int          `json:"ageYearsMax"`
	MadeBefore         int          `json:"madeBefore"`
	Period             string       `json:"period"`
	Culture            string       `json:"culture"`
	FoundFrom          string       `json:"foundFrom"`
	FoundTo            string       `json:"foundTo"`
	LandAcquiredFrom   string       `json:"landAcquiredFrom"`
	SameFind           []string     `json:"sameFind"`
	SameFindMin        int          `json:"sameFindMin"`
	SameFindAs         []string     `json:"sameFindAs"`
	DepthMmOver        int          `json:"depthMmOver"`
	Near               string       `json:"near"`
	WithinM            int          `json:"withinM"`
	Ground             []string     `json:"ground"`
	OrGround           []string     `json:"orGround"`
	Activity           []string     `json:"activity"`
	Purpose            string       `json:"purpose"`
	Archaeological     bool         `json:"archaeological"`
	Suspected          string       `json:"suspected"`
	NotSuspected       string       `json:"notSuspected"`
	NotReported        bool         `json:"notReported"`
	Permission         string       `json:"permission"`
	Owner              string       `json:"owner"`
	Flag               string       `json:"flag"`
	HiddenOnPurpose    bool         `json:"hiddenOnPurpose"`
	Surface            bool         `json:"surface"`
	Wreck              bool         `json:"wreck"`
	Words              []string     `json:"words"`
	AnyOf              []Conditions `json:"anyOf"`
}

// prepare reads the days of a row once.
func (r *Row) prepare(t *Table) {
	r.first, _ = dayOf(cmp.Or(r.From, r.Applies.FoundFrom), false)
	r.last, _ = dayOf(cmp.Or(r.To, r.Applies.FoundTo), true)
	if r.Seen != "memory" {
		r.looked, _ = dayOf(cmp.Or(r.SeenOn, t.Earlier), false)
	}
	r.fallback = slices.Contains(t.Fallback, r.ID)
}

// dayOf returns the first, or the last, day of an EDTF date.
func dayOf(text string, last bool) (edtf.Day, bool) {
	d, err := edtf.Parse(text)
	if text == "" || err != nil {
		return edtf.Day{}, false
	}
	from, to, openFrom, openTo := d.Span()
	if last {
		return to, !openTo
	}
	return from, !openFrom
}

// inForce reports whether a row may be in force on one of the days of a find.
func (r *Row) inForce(first, last edtf.Day) bool {
	if !r.first.IsZero() && !last.IsZero() && last.Compare(r.first) < 0 {
		return false
	}
	return r.last.IsZero() || first.IsZero() || first.Compare(r.last) <= 0
}

// IsLaw reports whether a row may be told as law: its words were read. Any other is only a thing to ask.
func (r *Row) IsLaw() bool { return r.Standing == "law" }

// Days returns how many days after that of the find a time limit ends, the first of them the day after; false where
// it names none, or counts from something else. Hours are taken as days.
func (r *Row) Days() (n int, ok bool) {
	switch from := r.DeadlineFrom; {
	case strings.HasPrefix(from, "find"), strings.HasPrefix(from, "day after the find"),
		strings.HasPrefix(from, "discovery"),
		strings.HasPrefix(from, "time of the finding"), strings.HasPrefix(from, "making the find"):
	default:
		return 0, false
	}
	digits, unit := strings.TrimLeft(r.Deadline, "PT"), 1
	switch {
	case strings.HasPrefix(r.Deadline, "PT") && strings.HasSuffix(digits, "H"):
		unit = 24
	case !strings.HasSuffix(digits, "D"):
		return 0, false
	}
	n, err := strconv.Atoi(digits[:len(digits)-1])
	return (n + unit - 1) / unit, err == nil && n > 0
}

// Time is the time limit as the row puts it.
func (r *Row) Time() string { return r.DeadlineWords }

// yearOf days after which a reading is old.
const yearOfDays = 365

// Words writes a row for a message, as of a day: what may apply, whom to ask, where it is written, what was seen of
// it and when. What was not read is never told as law.
func (r *Row) Words(today edtf.Day) string {
	var b strings.Builder
	if r.IsLaw() {
		b.WriteString("This may apply: " + r.Rule)
	} else {
		b.WriteString("Ask whether this holds, which is " + r.doubt() + ": " + r.Rule)
	}
	if r.Ask != "" {
		b.WriteString(" Ask: " + r.Ask + ".")
	}
	if r.DeadlineWords != "" {
		b.WriteString(" Time: " + r.DeadlineWords + ".")
	}
	return b.String() + " Source: " + r.Written(today) + "."
}

// doubt says why a row is not told as law.
func (r *Row) doubt() string {
	for part := range strings.SplitSeq(r.Standing, ";") {
		if part = strings.TrimSpace(part); part != "ask the authority" {
			return part
		}
	}
	return "not verified"
}

// Written names where a row is written, what of it was seen, and when.
func (r *Row) Written(today edtf.Day) string {
	s := r.Instrument
	if s == "" {
		s = "common practice"
	}
	if r.Section != "" {
		s += ", " + r.Section
	}
	switch {
	case r.Seen == "memory":
		return s + " (from memory, not read)"
	case r.Seen == "partly":
		s += " (read in part"
	default:
		s += " (read"
	}
	s += " on " + r.looked.String()
	if !today.IsZero() && today.Compare(r.looked.AddDays(yearOfDays)) > 0 {
		s += ", over a year ago: ask whether it still holds"
	}
	if !r.IsLaw() {
		s += "; " + r.doubt()
	}
	return s + ")"
}

// Looked is the day on which a row was last looked at; empty for one from memory.
func (r *Row) Looked() string {
	if r.looked.IsZero() {
		return ""
	}
	return r.looked.String()
}
