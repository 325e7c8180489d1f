package validate

import (
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// AcceptanceStale says that an entry of accepted silences nothing any more.
var AcceptanceStale = &kinds.AcceptanceStale

// acceptances are the entries of accepted on the look-out for what they silence.
type acceptances struct {
	list  []find.Acceptance
	of    map[[2]string][]int // the entries for a find, or for the report, and a code
	named map[string]bool     // the finds that entries name
	used  []bool
	ids   map[int]string // index to id of the finds that have one, for what is said at the end
}

func newAcceptances(list []find.Acceptance) *acceptances {
	a := &acceptances{list: list, of: map[[2]string][]int{}, named: map[string]bool{}, used: make([]bool, len(list)),
		ids: map[int]string{}}
	for i, e := range list {
		at := [2]string{e.Find, e.Code}
		a.of[at] = append(a.of[at], i)
		a.named[e.Find] = true
	}
	return a
}

// meet remembers a find that an entry names.
func (a *acceptances) meet(index int, id string) {
	if id != "" && a.named[id] {
		a.ids[index] = id
	}
}

// mark sets the reason on each notice that an entry silences. The id is empty for the report itself; pointers of a
// find are relative to it. An entry without a find and a pointer silences its code wherever it stands.
func (a *acceptances) mark(list notice.List, id string) {
	if len(a.list) == 0 {
		return
	}
	for i := range list {
		n := &list[i]
		for _, of := range [...]string{id, ""} {
			for _, j := range a.of[[2]string{of, n.Kind.Code}] {
				if e := &a.list[j]; accepts(e, n, id) {
					n.Accepted, n.AcceptedOn, a.used[j] = e.Reason, e.On, true
				}
			}
			if id == "" {
				break
			}
		}
	}
}

// accepts reports whether an entry silences a notice about a find, or about the report. What is said of safety, of the
// law and of copies for others is accepted for one find only, by somebody, on a day.
func accepts(e *find.Acceptance, n *notice.Notice, id string) bool {
	k := n.Kind
	if grave := k.Caution || k.Group == "safety" || k.Group == "sharing"; grave &&
		(e.Find == "" || e.By == "" || e.On == "") {
		return false
	}
	if e.Find != id && e.Pointer != "" {
		return false
	}
	return e.Reason != "" && (e.Pointer == "" || n.Pointer == e.Pointer || strings.HasPrefix(n.Pointer, e.Pointer+"/"))
}

// stale tells the entries that silenced nothing, but for those of rules that were not asked: nothing is known of them.
func (a *acceptances) stale(asked []*Rule) notice.List {
	var out notice.List
	unasked := map[string]bool{}
	for _, r := range Catalogue() {
		unasked[r.Code] = !slices.ContainsFunc(asked, func(a *Rule) bool { return a.Code == r.Code })
	}
	for j, used := range a.used {
		if !used && !unasked[a.list[j].Code] {
			out.Add(notice.New(AcceptanceStale, "/accepted/"+strconv.Itoa(j),
				"the notice "+a.list[j].Code+" is not given where this entry accepts it"))
		}
	}
	return out
}

// A Rule is a Kind of notice and the check that finds it. One of Check, Header, Across and Log is set; a rule
// that looks at finds and at the report has both Check and Header. When exactly it reports is said, for
// readers without Go too, in schema/spec/conditions.json: whoever changes the one changes the other.
type Rule struct {
	notice.Kind

	// Check looks at one find.
	Check func(c *Case, say Say)
	// Header looks at the report without its finds: people, permissions, outings.
	Header func(c *Case, say Say)
	// Across returns a fresh check for one run, which may remember what it has seen.
	Across func() Across
	// Log compares the finds of the whole log, after the last of them. The case has no find.
	Log func(c *Case, log *Roll, say SayOf)
}

// Say records a notice of the rule at a pointer: relative to the find for Check, from the top of
// the report for Header. The message says what was found; it never quotes a position, a name or an
// address.
type Say func(pointer, message string)

// A Case is what a rule sees: one find, and the report that it stands in. A rule only reads it.
type Case struct {
	Find       *find.Find
	Report     *find.Report     // the header; its Finds are empty
	Permission *find.Permission // the one that the find or its outing names, or nil
	Outing     *find.Outing     // the one that the find names, or nil
	Settings   *Settings
	AsOf       edtf.Day // the day that counts as today
	Files      fs.FS    // the pictures beside the report; nil: they cannot be looked at

	facts facts       // what several rules ask of the find
	said  *said       // takes what the rules say
	told  notice.List // what the reader said of the find, for Across
	run   *frame      // what the finds of a run have in common; nil: nothing
}

// NotChecked says that the rule could not be applied here because something it needs is missing:
// an area, a law table, a picture. It is counted and shown, and is never a pass.
func (c *Case) NotChecked() {
	if c.said != nil {
		c.said.notChecked = append(c.said.notChecked, c.said.rule)
	}
}

// Across is a check over all finds of a run, which sees them one by one.
type Across struct {
	// Find sees each find in order. It keeps words and numbers, never the find itself nor what stands in it.
	Find func(c *Case, ref Ref, say Say)
	// End is called once after the last find and may speak of any of them.
	End func(c *Case, say SayOf)
}

// SayOf records a notice about a find seen earlier, or about the report itself.
type SayOf func(ref Ref, pointer, message string)

// A Ref is the way back to a find seen earlier.
type Ref struct {
	Index  int
	Label  string
	Origin find.Origin
}

// reportRef stands for the report itself.
var reportRef = Ref{Index: -1}
