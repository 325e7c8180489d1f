// Package handover takes up what comes back of a copy: an answer becomes proposals, and what the owner accepts
// goes into the log. Nothing of the owner's is overwritten or deleted: what others say arrives as opinions with
// giver and day, and the rest is said.
//
//	proposals, err := handover.Propose(log, answer, kept, handover.Options{Day: "2026-06-01"})
//	...                                 // a person sets "accepted" where it is right
//	accepted, err := handover.Accept(log, proposals)
//
// # Terms
//
// An answer is a copy that somebody has written into, in any format. The register knows by digests what each
// record of the copy said, so that an answer is compared three ways: what was sent, what came back, what the log
// says today. A proposal is a JSON Patch (RFC 6902) that first tests what it builds on.
//
// This package is unstable: it may change between any two versions.
package handover

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
)

// Options of Propose.
type Options struct {
	Day  string // of the answer, ISO 8601; empty: that of the answer itself, else none
	From string // who gave it; empty: the receiver that the register has of the copy
}

// Proposals are what an answer says, for a person to decide.
type Proposals struct {
	Version   string     `json:"answersVersion"` // "1.0"
	Private   bool       `json:"private"`
	Report    string     `json:"report"` // id of the log
	Copy      string     `json:"copy"`   // id of the copy that was answered
	From      string     `json:"from"`
	Day       string     `json:"day,omitzero"`
	Proposals []Proposal `json:"proposals"`
	Said      []string   `json:"said"` // what is not taken up, and why
}

// A Proposal is one thing that the answer says.
type Proposal struct {
	ID       string `json:"id"`   // a-0001
	Find     string `json:"find"` // number or name in the log
	Says     string `json:"says"` // in words
	Accepted bool   `json:"accepted"`
	Patch    []Step `json:"patch"`
}

const answersVersion = "1.0"

// ErrNoCopy says that an answer belongs to no copy that the register knows.
var ErrNoCopy = errors.New("this is no answer to a copy that the register knows")

// ErrOtherLog says that the register knows the copy that was answered, and that it was made of another log.
var ErrOtherLog = errors.New("the copy that was answered was made of another log")

// Propose compares an answer with the copy that was sent and with the log of today.
func Propose(log, answer *find.Report, r *register.Register, o Options) (*Proposals, error) {
	e := copyOf(answer, r, find.FoldName(o.From))
	if e == nil {
		return nil, ErrNoCopy
	}
	if !slices.Contains(r.Digests("report", log.ID), e.Source) {
		return nil, ErrOtherLog
	}
	t := &taker{log: log, answer: answer, r: r, e: e, named: o.From != "",
		out: &Proposals{Version: answersVersion, Private: true, Report: log.ID, Copy: e.Copy,
			From: cmp.Or(o.From, e.Name, e.Receiver, e.Audience), Day: o.Day, Proposals: []Proposal{}, Said: []string{}}}
	if day, _, ok := strings.Cut(answer.Changed, "T"); ok && t.out.Day == "" {
		t.out.Day = day
	}
	t.index()
	t.answered()
	t.giver()
	seen := map[int]bool{}
	for _, f := range answer.Finds {
		i, ok := t.sent(f)
		switch {
		case !ok:
			t.say("%s is not in the copy that was sent; a new row is not taken up: enter it in your log yourself", label(f))
		case seen[i]:
			t.say("%s comes twice; only the first is taken up", t.label(i))
		default:
			seen[i] = true
			t.find(f, i)
		}
	}
	t.missing(seen)
	t.around()
	for _, text := range answer.Notes {
		t.say("beside the finds stands: %s", text)
	}
	return t.out, nil
}

// missing says which finds of the copy did not come back: an answer may be about some of them.
func (t *taker) missing(seen map[int]bool) {
	var gone []string
	for i := range t.e.Finds {
		if !seen[i] {
			gone = append(gone, t.label(i))
		}
	}
	const most = 3
	switch {
	case len(gone) > most:
		t.say("%d finds did not come back, such as %s; nothing is deleted", len(gone), strings.Join(gone[:most], ", "))
	case len(gone) > 0:
		t.say("%s did not come back; nothing is deleted", strings.Join(gone, ", "))
	}
}

// copyOf finds the copy that an answer answers: by the ids of its finds, which only this copy has, or by the
// id of the copy; where all ids are lost, by who gave it.
func copyOf(answer *find.Report, r *register.Register, from string) (best *register.Event) {
	ids := map[string]bool{}
	for _, f := range answer.Finds {
		ids[f.ID] = true
	}
	most := 0
	for i := range r.Events {
		e := &r.Events[i]
		if e.Kind != register.Copy {
			continue
		}
		n := 0
		for j := range e.Finds {
			if ids[e.Finds[j].ID] {
				n++
			}
		}
		if answer.ID != "" && answer.ID == e.Copy {
			n += len(ids) + 1
		}
		if from != "" && most == 0 && n == 0 && e.Receiver == from {
			best = e
		}
		if n > 0 && n >= most { // of two copies for one receiver the later
			most, best = n, e
		}
	}
	return best
}

// taker takes up one answer.
type taker struct {
	log, answer *find.Report
	r           *register.Register
	e           *register.Event
	out         *Proposals
	byID        map[string]int  // id in the copy to find of the copy
	byNumber    map[string]int  // folded number, where only one find of the copy has it
	at          []int           // find of the copy to find of the log, -1: it is gone
	by          string          // local id of the giver in the log
	members     map[string]bool // that some find of the answer has
	named       bool            // the owner, or the answer itself, says who gave it
	person      *find.Person    // of the giver, where the log has none yet
	others      []*find.Person  // whom the next proposal speaks of, and the log has not
}

func (t *taker) say(format string, args ...any) {
	t.out.Said = append(t.out.Said, fmt.Sprintf(format, args...))
}

func label(f *find.Find) string { return "find " + cmp.Or(f.Number, f.Name, "without number") }

func (t *taker) label(i int) string {
	if t.at[i] < 0 {
		return "a find that your log no longer has"
	}
	return label(t.log.Finds[t.at[i]])
}

func (t *taker) index() {
	byDigest := map[string]int{}
	for i, f := range t.log.Finds {
		for _, d := range t.r.Digests("find", f.ID) {
			byDigest[d] = i
		}
	}
	t.byID, t.byNumber = map[string]int{}, map[string]int{}
	for i, told := range t.e.Finds {
		t.byID[told.ID] = i
		at, ok := byDigest[told.Find]
		if !ok {
			t.at = append(t.at, -1)
			continue
		}
		t.at = append(t.at, at)
		if n := find.FoldNumber(t.log.Finds[at].Number); n != "" {
			if _, twice := t.byNumber[n]; twice {
				i = -1
			}
			t.byNumber[n] = i
		}
	}
}

// sent is the find of the copy that a row of the answer is: by id, else by the number on the bag.
func (t *taker) sent(f *find.Find) (int, bool) {
	if i, ok := t.byID[f.ID]; ok {
		return i, true
	}
	i, ok := t.byNumber[find.FoldNumber(f.Number)]
	return i, ok && i >= 0 && f.Number != ""
}

// answeredBy is the column in which a page has who answers.
const answeredBy = "answered by"

// answered takes over who answers, where the page that was filled in says so and the owner does not: the
// receiver of the copy, or somebody whom the receiver has asked.
func (t *taker) answered() {
	for _, f := range t.answer.Finds {
		for heading, text := range f.Columns {
			if find.FoldName(heading) != answeredBy {
				continue
			}
			delete(f.Columns, heading)
			if text = strings.TrimSpace(text); text != "" && !t.named {
				t.out.From, t.named = text, true
			}
		}
	}
}

// giver settles who speaks: a person of the log, else one to be added with the first proposal.
func (t *taker) giver() {
	from := find.FoldName(t.out.From)
	for i := range t.log.People {
		if p := &t.log.People[i]; find.FoldName(p.Name) == from || find.FoldName(p.Handle) == from {
			t.by = p.ID
			return
		}
	}
	t.by = "person-" + hashed(from)
	t.person = &find.Person{ID: t.by, Handle: t.out.From}
	if t.e.Receiver != "" || t.named {
		t.person = &find.Person{ID: t.by, Name: t.out.From}
	}
}

// hashed are twelve digits that stand for some texts, so that two answers never give one id to two things.
func hashed(texts ...string) string {
	return fmt.Sprintf("%x", sha256.Sum256([]byte(strings.Join(texts, "\x00"))))[:12]
}

// speaker is the local id in the log of somebody whom the answer names, by an id of its people or by his name: the
// giver, a person of the log, or one who is added with the proposal. It is empty for one whose name the copy withheld.
func (t *taker) speaker(id string) string {
	p := t.answer.Person(id)
	if p == nil && !strings.ContainsFunc(id, func(r rune) bool { return unicode.IsUpper(r) || r == ' ' }) {
		return ""
	} else if p == nil {
		p = &find.Person{Name: id}
	}
	name := cmp.Or(p.Name, p.Handle)
	other := &taker{log: t.log, e: t.e, out: &Proposals{From: name}, named: true}
	switch {
	case name == "":
		return ""
	case find.FoldName(name) == find.FoldName(t.out.From):
		return t.by
	}
	if other.giver(); other.person != nil {
		t.others = append(t.others, other.person)
	}
	return other.by
}

// change is a leaf that came back otherwise than it was sent.
type change struct{ pointer, text string }

// changes compares a record with what was sent of it, by the digests of its leaves.
func changes[T find.Record](t *taker, told *register.Told, record *T) (out []change, lost []string) {
	base := t.e.Noted(told)
	for cell := range find.Flat(record) {
		if !t.r.Is(base[cell.Pointer], t.e, told, cell.Pointer, cell.Text) {
			out = append(out, change{cell.Pointer, cell.Text})
		}
		delete(base, cell.Pointer)
	}
	for pointer := range base {
		lost = append(lost, pointer)
	}
	slices.Sort(lost)
	return out, lost
}

// silent are members of which a change says nothing: what tables and programs write by themselves.
func silent(pointer string) bool {
	for _, p := range []string{"/id", "/absent", "/generalised", "/supplied", "/source", "/changed"} {
		if pointer == p || strings.HasPrefix(pointer, p+"/") {
			return true
		}
	}
	return false
}

// lists are members to which an answer adds; each item is proposed as it is.
var lists = map[string]bool{"opinions": true, "otherNumbers": true, "notified": true, "custody": true}

// spoken are headings under which people write what they think, and the member that it speaks of.
var spoken = map[string]string{"opinion": "description", "expert opinion": "description", "what is it": "name",
	"what is it?": "name", "answer": "description", "comment": "notes", "comments": "notes", "remarks": "notes"}

// find takes up what the answer says of one find.
func (t *taker) find(f *find.Find, i int) {
	t.spread(f, i)
	changed, lost := changes(t, &t.e.Finds[i], f)
	says, listed := map[string]bool{}, map[string]bool{}
	for _, c := range changed {
		member, _, _ := strings.Cut(strings.TrimPrefix(c.pointer, "/"), "/")
		switch {
		case silent(c.pointer) || member == "columns":
		case lists[member]:
			listed[member] = true
		default:
			says[member] = true
		}
	}
	t.emptied(i, lost, says)
	if t.at[i] < 0 {
		if len(says)+len(listed) > 0 {
			t.say("an answer speaks of a find that your log no longer has")
		}
		return
	}
	t.opinion(f, i, says, changed)
	for _, member := range []string{"opinions", "otherNumbers", "notified", "custody"} {
		if listed[member] {
			t.added(f, i, member)
		}
	}
}

// emptied says which members of a find came back empty. What no find of the answer has was not asked for: a table
// may have fewer columns.
func (t *taker) emptied(i int, lost []string, says map[string]bool) {
	told := map[string]bool{}
	for _, pointer := range lost {
		member := strings.Split(pointer, "/")[1]
		if silent(pointer) || says[member] || told[member] || !t.has(member) {
			continue
		}
		told[member] = true
		t.say("%s: %s was emptied; nothing is deleted", t.label(i), member)
	}
}

// has reports whether some find of the answer has a member.
func (t *taker) has(member string) bool {
	if t.members == nil {
		t.members = map[string]bool{}
		for _, f := range t.answer.Finds {
			for cell := range find.Flat(f) {
				name, _, _ := strings.Cut(strings.TrimPrefix(cell.Pointer, "/"), "/")
				t.members[name] = true
			}
		}
	}
	return t.members[member]
}

// spread puts columns such as opinions.1.says.name, in which tables have what an opinion says, into the opinion.
func (t *taker) spread(f *find.Find, i int) {
	for _, heading := range slices.Sorted(maps.Keys(f.Columns)) {
		rest, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(heading)), "opinions.")
		number, _, says := strings.Cut(rest, ".says.")
		n, err := strconv.Atoi(number)
		if !ok || !says || err != nil || n < 1 || n > 100 {
			continue
		}
		text := strings.TrimSpace(f.Columns[heading])
		name := heading[strings.Index(strings.ToLower(heading), ".says.")+len(".says."):]
		delete(f.Columns, heading)
		if text == "" {
			continue
		}
		said := new(find.Find)
		for len(f.Opinions) < n {
			f.Opinions = append(f.Opinions, find.Opinion{})
		}
		o := &f.Opinions[n-1]
		if len(o.Says) > 0 && find.DecodeFind(o.Says, said) != nil {
			said = new(find.Find)
		}
		path, err := find.PathTo[find.Find](strings.TrimSpace(name))
		if err == nil {
			err = find.Set(path, said, text)
		}
		if err == nil {
			o.Says, err = find.Marshal(said)
		}
		if err != nil {
			t.say("%s: the column %q is not taken up: %v", t.label(i), heading, err)
		}
	}
}

// opinion proposes what was typed over, or written in a column for it, as one opinion of the giver.
func (t *taker) opinion(f *find.Find, i int, members map[string]bool, changed []change) {
	all := t.anew(f, i, members, changed)
	says := map[string]jsontext.Value{}
	for member := range members {
		switch member {
		case "finder", "permission", "outing": // people of the answer are said elsewhere
		case "partOf", "associated", "replaces", "media", "number", "place", "position", "otherPositions", "storagePlace",
			"value",
			"sensitivity", "embargoUntil", "recorded", "owners", "keeper":
			t.say("%s: %s came back changed; it is yours to say, and is not taken up", t.label(i), member)
		default:
			says[member] = all[member]
		}
	}
	for heading, text := range f.Columns {
		member := spoken[find.FoldName(heading)]
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		if member == "" {
			t.say("%s: the column %q is not taken up", t.label(i), heading)
			continue
		}
		quoted, err := json.Marshal(text)
		if err == nil && says[member] == nil {
			says[member] = quoted
		}
	}
	if len(says) == 0 {
		return
	}
	value, err := json.Marshal(says, json.Deterministic(true))
	if err != nil {
		return
	}
	t.propose(i, "opinions", &find.Opinion{By: t.by, On: t.out.Day, Says: value},
		"another opinion of: "+strings.Join(slices.Sorted(maps.Keys(says)), ", "))
}

// added proposes the items of a list that are new.
func (t *taker) added(f *find.Find, i int, member string) {
	fresh := &find.Find{}
	switch member {
	case "opinions":
		fresh.Opinions = f.Opinions
	case "otherNumbers":
		fresh.OtherNumbers = f.OtherNumbers
	case "notified":
		fresh.Notified = f.Notified
	case "custody":
		fresh.Custody = f.Custody
	}
	changed, _ := changes(t, &t.e.Finds[i], fresh)
	done := map[string]bool{}
	for _, c := range changed {
		n := strings.Split(c.pointer, "/")[2]
		if done[n] {
			continue
		}
		done[n] = true
		var at int
		if _, err := fmt.Sscan(n, &at); err != nil {
			continue
		}
		switch member {
		case "opinions":
			o := f.Opinions[at]
			o.By, o.On, o.Withdraws = cmp.Or(t.speaker(o.By), t.by), cmp.Or(o.On, t.out.Day), ""
			t.propose(i, member, &o, "an opinion")
		case "otherNumbers":
			t.propose(i, member, &f.OtherNumbers[at], "a number that was given to it")
		case "notified":
			t.propose(i, member, &f.Notified[at], "a notice or a receipt")
		case "custody":
			c := f.Custody[at]
			c.From, c.To = "", t.by
			t.propose(i, member, &c, "who has it in hand")
		}
	}
}
