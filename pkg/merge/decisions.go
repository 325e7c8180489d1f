package merge

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/limit"
)

const version = "1.0"

// Decisions are what a person is asked, and has decided. The file is written, edited and given back.
type Decisions struct {
	Version   string     `json:"mergeVersion"`
	Private   bool       `json:"private"` // it holds what stood in the sources
	Sources   []Sent     `json:"sources"`
	Questions []Question `json:"questions"`
}

// Sent says what one source holds.
type Sent struct {
	File     string   `json:"file"`
	SHA256   string   `json:"sha256"`
	Report   string   `json:"report"`
	Audience string   `json:"audience,omitzero"`
	People   []string `json:"people,omitzero"`
	Finds    int      `json:"finds"`
	First    string   `json:"first,omitzero"`
	Last     string   `json:"last,omitzero"`
	Fields   int      `json:"fields"`
	Taken    int      `json:"taken"` // that no source before it has
	Also     int      `json:"also"`  // that stand in another source too
	Unread   int      `json:"unread,omitzero"`
}

// A Question is one thing that only a person can settle, or a proposal that a person can undo.
type Question struct {
	ID       string   `json:"id"`
	Kind     string   `json:"kind"` // log, person, permission, outing, same-find, identity, newer, member
	Asks     string   `json:"asks"`
	Choices  []string `json:"choices"`
	Proposed string   `json:"proposed,omitzero"`
	Decision string   `json:"decision"`
	Open     bool     `json:"open,omitzero"` // until it is decided there is no log
	Find     string   `json:"find,omitzero"` // number or name
	Member   string   `json:"member,omitzero"`
	Sides    []Side   `json:"sides"`

	otherwise string // what holds until it is decided
	about     []string
}

// A Side is what some of the sources say.
type Side struct {
	Choice string         `json:"choice,omitzero"` // a, b, ...
	From   []string       `json:"from"`
	Says   jsontext.Value `json:"says,omitzero"`
}

// Write writes decisions as JSON.
func (d *Decisions) Write(w io.Writer) error {
	b, err := json.Marshal(d, jsontext.WithIndent("  "), json.Deterministic(true))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ReadDecisions reads what Write has written and somebody has edited. Of the limits Side is looked at.
func ReadDecisions(r io.Reader, limits limit.Limits) (*Decisions, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, fmt.Errorf("reading the decisions: %w", err)
	}
	d := &Decisions{}
	if err := json.Unmarshal(raw, d); err != nil || d.Version != version {
		return nil, fmt.Errorf("this is no file of decisions: findslip merge A B -o OUT writes one")
	}
	for i := range d.Questions {
		q := &d.Questions[i]
		if q.Decision = strings.ToLower(strings.TrimSpace(q.Decision)); q.Decision != "" &&
			!slices.Contains(q.Choices, q.Decision) {
			return nil, fmt.Errorf("question %s: %q is none of the choices: %s", q.ID, q.Decision,
				strings.Join(q.Choices, ", "))
		}
	}
	return d, nil
}

// asker asks questions, and finds the answers that were given to them.
type asker struct {
	given map[string]string // decision by id
	used  map[string]bool
	list  []Question
	open  int
}

func newAsker(d *Decisions, _ []*source) *asker {
	a := &asker{given: map[string]string{}, used: map[string]bool{}}
	if d != nil {
		for _, q := range d.Questions {
			a.given[q.ID] = q.Decision
		}
	}
	return a
}

var localID = regexp.MustCompile(`"(person|permission|outing)-[0-9]+"`)

// ask asks a question and returns what is decided, proposed or holds otherwise. Its id is made of what it is
// about, so that an answer fits however the sources are named, and no longer once they say something else.
func (a *asker) ask(q *Question, about ...string) string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%q\n", q.Kind, about)
	for i := range q.Sides {
		slices.Sort(q.Sides[i].From)
		q.Sides[i].From = slices.Compact(q.Sides[i].From)
		says := q.Sides[i].Says
		if q.Sides[i].Choice == "" || slices.Contains(q.Choices, "one") {
			says = localID.ReplaceAll(says, nil) // what other answers count anew; no choice names a side
		}
		fmt.Fprintf(h, "%s %q\n", q.Sides[i].Choice, says)
	}
	q.ID = "q-" + hex.EncodeToString(h.Sum(nil))[:12]
	decision, known := a.given[q.ID]
	if a.used[q.ID] = true; known && slices.Contains(q.Choices, decision) {
		q.Decision = decision
	} else if !known {
		q.Decision = q.Proposed
	}
	answer := q.Decision
	if answer == "" {
		answer = q.otherwise
	}
	if q.Open = answer == ""; q.Open {
		a.open++
	}
	a.list = append(a.list, *q)
	return answer
}

// stale are decisions to which there is no question any more.
func (a *asker) stale() (out []string) {
	for id, decision := range a.given {
		if !a.used[id] && decision != "" {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// decisions are the questions in the order of their kinds: what is open comes first.
func (a *asker) decisions(sources []*source) *Decisions {
	d := &Decisions{Version: version, Private: true, Sources: []Sent{}, Questions: []Question{}}
	for _, s := range sources {
		d.Sources = append(d.Sources, Sent{File: s.label, SHA256: s.sum, Report: s.report, Audience: s.head.Audience,
			People: s.people, Finds: s.seen.Finds, First: s.seen.First, Last: s.seen.Last, Fields: s.seen.Fields,
			Taken: s.taken, Also: s.also, Unread: s.unread})
	}
	order := []string{"newer", "identity", "member", "log", "same-find", "person", "permission", "outing"}
	slices.SortStableFunc(a.list, func(x, y Question) int {
		if x.Open != y.Open {
			if x.Open {
				return -1
			}
			return 1
		}
		if n := slices.Index(order, x.Kind) - slices.Index(order, y.Kind); n != 0 {
			return n
		}
		return strings.Compare(x.Find+"\x00"+x.Member+"\x00"+x.ID, y.Find+"\x00"+y.Member+"\x00"+y.ID)
	})
	d.Questions = append(d.Questions, a.list...)
	return d
}

// once is ask for a question that many finds lead to.
func (a *asker) once(q *Question, about ...string) string {
	for i := range a.list {
		if old := &a.list[i]; old.Kind == q.Kind && slices.Equal(old.about, about) {
			*q = *old
			return old.Decision
		}
	}
	q.about = about
	return a.ask(q, about...)
}
