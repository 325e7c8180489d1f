package validate

import (
	"slices"
	"strconv"
	"strings"

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
