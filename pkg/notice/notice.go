// Package notice is what Findslip says about data: a [Notice] is one thing said at one place,
// a [Kind] is the sort of thing said, known by its code.
//
// A notice is never a Go error. An error means that the work could not be done; a notice means
// that the work was done and that a person should know something about the data.
//
//	var list notice.List
//	list.Add(notice.New(kind, "/depth", "deeper than two metres"))
//	list.Sort()
//
// # Terms
//
// The severity follows the verb of the requirement in SPEC.md: MUST is an error, SHOULD a
// warning, an assumption or advice is info. Caution is an axis of its own, for law and safety.
//
// This package is unstable: it may change between any two versions.
package notice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Severity ranks notices. The zero value is no severity; a lower number is graver.
type Severity uint8

// The severities, gravest first.
const (
	Error Severity = iota + 1
	Warning
	Info
)

// String returns "error", "warning" or "info", and "" for anything else.
func (s Severity) String() string {
	switch s {
	case Error:
		return "error"
	case Warning:
		return "warning"
	case Info:
		return "info"
	}
	return ""
}

// ParseSeverity reads what String writes.
func ParseSeverity(s string) (Severity, error) {
	switch s {
	case "error":
		return Error, nil
	case "warning":
		return Warning, nil
	case "info":
		return Info, nil
	}
	return 0, fmt.Errorf("severity %q is not error, warning or info", s)
}

// MarshalText writes the word of the severity.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (s *Severity) UnmarshalText(text []byte) (err error) {
	*s, err = ParseSeverity(string(text))
	return err
}

// A Kind is a sort of thing that can be said, published under a code that keeps its meaning for
// ever. The words travel with the code: SPEC.md, the rules command and explain are made of them.
type Kind struct {
	Code     string   // kebab-case, says what is wrong
	Severity Severity // a field, never a part of the code
	Caution  bool     // law or safety: shown before everything else
	Group    string   // subject: identity, time, position, depth, ...
	Title    string   // one line for the list
	Why      string   // why it matters
	Help     string   // what to do next
	Spec     string   // section of SPEC.md
	Source   string   // where the figure or practice comes from; "common practice, no source" if so
	Before   string   // an example that gets the notice
	After    string   // the same example put right
	Off      string   // why a check leaves it out unless it is asked for; else empty
}

// Reading reports whether notices of the kind say how a file was read, and nothing that anybody has to do.
func (k *Kind) Reading() bool { return k.Group == "taken" }

// Location says where a notice belongs. Members that do not apply are empty.
type Location struct {
	File    string // name as the caller gave it
	Pointer string // JSON Pointer (RFC 6901) in the report
	Sheet   string // name of the sheet
	Cell    string // such as D7
	Row     int    // the sheet's own number, from 1
	Column  int    // from 1
	Heading string // text above the column
	Line    int    // line of a text file, from 1
	Find    string // number of the find as on the bag, else its id
}

// A Notice is one thing said about the data at one place.
type Notice struct {
	Kind    *Kind
	Message string // says what was found here; never quotes a position, a name or an address
	Help    string // overrides Kind.Help when the place knows better
	// Proposals are texts that may have been meant, best first. They are never applied unasked.
	Proposals []string
	// Written is what stood at the place, letter for letter; empty where it may be a position, a name or an
	// address, or where nothing stood there.
	Written string
	// Accepted is the reason with which a person silenced the notice; empty if nobody did.
	Accepted string
	// AcceptedOn is the day on which that was done, ISO 8601; empty if it is not said.
	AcceptedOn string
	Location
}

// New returns a notice of the kind at a pointer.
func New(kind *Kind, pointer, message string) Notice {
	return Notice{Kind: kind, Message: message, Location: Location{Pointer: pointer}}
}

// HelpText returns what to do next: the notice's own help, else that of its kind.
func (n Notice) HelpText() string {
	if n.Help != "" {
		return n.Help
	}
	return n.Kind.Help
}

// Place names the place in the words of the source: sheet and cell, line, or pointer.
func (n Notice) Place() string {
	switch {
	case n.Sheet != "" && n.Cell != "":
		return n.Sheet + "!" + n.Cell
	case n.Sheet != "" && n.Row > 0:
		return fmt.Sprintf("%s row %d", n.Sheet, n.Row)
	case n.Cell != "":
		return n.Cell
	case n.Row > 0:
		return fmt.Sprintf("row %d", n.Row)
	case n.Line > 0 && n.Pointer != "":
		return fmt.Sprintf("line %d %s", n.Line, n.Pointer)
	case n.Line > 0:
		return fmt.Sprintf("line %d", n.Line)
	}
	return n.Pointer
}

// A List is a set of notices. Sort gives it the one order in which it is shown.
type List []Notice

// Add appends notices.
func (l *List) Add(notices ...Notice) { *l = append(*l, notices...) }

// Danger reports whether a kind is about danger to life or about the dead: ordnance, human remains.
// Such notices come before all others.
func (k *Kind) Danger() bool { return k.Caution && k.Group == "safety" }

// Sort orders the list: danger first, then by file, pointer (numbers as numbers), sheet, row, column, severity, code
// and message, so that two runs print the same bytes.
func (l List) Sort() { slices.SortStableFunc(l, compare) }

// compare orders two notices as Sort does.
func compare(a, b Notice) int {
	if a.Kind != b.Kind && a.Kind.Danger() != b.Kind.Danger() {
		if a.Kind.Danger() {
			return -1
		}
		return 1
	}
	for _, c := range []int{
		strings.Compare(a.File, b.File),
		ComparePointers(a.Pointer, b.Pointer),
		strings.Compare(a.Sheet, b.Sheet),
		a.Row - b.Row,
		a.Line - b.Line,
		a.Column - b.Column,
		int(a.Kind.Severity) - int(b.Kind.Severity),
		strings.Compare(a.Kind.Code, b.Kind.Code),
		strings.Compare(a.Message, b.Message),
	} {
		if c != 0 {
			return c
		}
	}
	return 0
}

// Count returns how many notices have the severity.
func (l List) Count(s Severity) int {
	n := 0
	for i := range l {
		if l[i].Kind.Severity == s {
			n++
		}
	}
	return n
}

// Cautions returns how many notices are cautions.
func (l List) Cautions() int {
	n := 0
	for i := range l {
		if l[i].Kind.Caution {
			n++
		}
	}
	return n
}

// ComparePointers orders JSON Pointers segment by segment; segments that are numbers compare as
// numbers, so that /finds/9 comes before /finds/10.
func ComparePointers(a, b string) int {
	for a != "" && b != "" {
		var x, y string
		x, a = segment(a)
		y, b = segment(b)
		if c := compareSegments(x, y); c != 0 {
			return c
		}
	}
	return len(a) - len(b)
}

func segment(p string) (first, rest string) {
	p = strings.TrimPrefix(p, "/")
	if i := strings.IndexByte(p, '/'); i >= 0 {
		return p[:i], p[i:]
	}
	return p, ""
}

func compareSegments(x, y string) int {
	if isNumber(x) && isNumber(y) {
		x, y = strings.TrimLeft(x, "0"), strings.TrimLeft(y, "0")
		if len(x) != len(y) {
			return len(x) - len(y)
		}
	}
	return strings.Compare(x, y)
}

func isNumber(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// Escape writes one reference token of a JSON Pointer (RFC 6901 section 3).
func Escape(token string) string {
	if !strings.ContainsAny(token, "~/") {
		return token
	}
	return strings.ReplaceAll(strings.ReplaceAll(token, "~", "~0"), "/", "~1")
}

// Unescape reads one reference token of a JSON Pointer.
func Unescape(token string) string {
	if !strings.Contains(token, "~") {
		return token
	}
	return strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~")
}

// Grade is how sure a proposal is.
type Grade string

// How sure a proposal is.
const (
	Certain Grade = "certain" // nothing else can have been meant: a name or a code misspelt by a letter
	Likely  Grade = "likely"  // one reading that fits
	OnlyYou Grade = "only-you"
)

// Grade returns how sure the proposals of a notice are: of several only the writer knows which is meant. Empty where
// there is none.
func (n *Notice) Grade() Grade {
	switch {
	case len(n.Proposals) == 0:
		return ""
	case len(n.Proposals) > 1:
		return OnlyYou
	case n.Kind.Code == "member-misspelt" || n.Kind.Code == "code-not-listed":
		return Certain
	}
	return Likely
}

// A Deadline is a day by which something has to be told to somebody: one that the record states, or
// one that was counted from the day of the find under a table of law. It is a prompt and no advice in
// law. Nothing in it quotes a name.
type Deadline struct {
	// the last day, ISO 8601; empty: the source names no number of days, or the day of the find is not known
	Day     string
	Time    string // the time limit in the words of the source: "14 days", "immediately"
	What    string // what is to be told
	Source  string // where the time limit is written
	Checked string // the day on which the source was read, ISO 8601; empty where the record itself is the source
	Status  DeadlineStatus
	// days from the day that counts as today to Day; below zero where it is past. Of no meaning without Dated
	Left  int
	Dated bool
	Location
}

// DeadlineStatus is how a deadline stands.
type DeadlineStatus string

// How a deadline stands.
const (
	DeadlineOpen DeadlineStatus = "open" // no report is recorded
	DeadlinePast DeadlineStatus = "past" // no report is recorded, and the day is over
	DeadlineMet  DeadlineStatus = "reported"
)

// A Deadlines is a list of deadlines.
type Deadlines []Deadline

// Sort orders the list by day; those without a day come last. Then by file, place and words.
func (l Deadlines) Sort() {
	slices.SortStableFunc(l, func(a, b Deadline) int {
		if (a.Day == "") != (b.Day == "") {
			return strings.Compare(b.Day, a.Day)
		}
		return cmp.Or(strings.Compare(a.Day, b.Day), strings.Compare(a.File, b.File), ComparePointers(a.Pointer, b.Pointer),
			a.Row-b.Row, a.Line-b.Line, strings.Compare(a.What, b.What), strings.Compare(a.Source, b.Source))
	})
}
