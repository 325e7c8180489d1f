package handover

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
)

// A Step is an operation of JSON Patch (RFC 6902).
type Step struct {
	Op    string         `json:"op"` // test, add, replace, remove
	Path  string         `json:"path"`
	Value jsontext.Value `json:"value,omitzero"`
}

// node is a value of a document that patches are applied to. It is taken apart only where a path leads through
// it: all else keeps its bytes.
type node struct {
	raw     jsontext.Value
	names   []string // of an object that was taken apart, in order
	members map[string]*node
	items   []*node // of a list that was taken apart
	kind    jsontext.Kind
}

// open takes an object or a list apart.
func (n *node) open() error {
	if n.kind != 0 {
		return nil
	}
	dec := jsontext.NewDecoder(bytes.NewReader(n.raw))
	switch kind := n.raw.Kind(); kind {
	case '{', '[':
		n.kind = kind
	default:
		return fmt.Errorf("it is neither an object nor a list")
	}
	if _, err := dec.ReadToken(); err != nil {
		return err
	}
	n.members = map[string]*node{}
	for dec.PeekKind() != '}' && dec.PeekKind() != ']' {
		name := ""
		if n.kind == '{' {
			token, err := dec.ReadToken()
			if err != nil {
				return err
			}
			name = token.String()
		}
		value, err := dec.ReadValue()
		if err != nil {
			return err
		}
		child := &node{raw: value.Clone()}
		if n.kind == '{' {
			n.names, n.members[name] = append(n.names, name), child
		} else {
			n.items = append(n.items, child)
		}
	}
	return nil
}

// value is the JSON of a node.
func (n *node) value() jsontext.Value {
	if n.kind == 0 {
		return n.raw
	}
	var b bytes.Buffer
	b.WriteByte(byte(n.kind))
	for i, name := range n.names {
		if i > 0 {
			b.WriteByte(',')
		}
		quoted, _ := json.Marshal(name) // a text: always valid
		b.Write(append(quoted, ':'))
		b.Write(n.members[name].value())
	}
	for i, item := range n.items {
		if i > 0 {
			b.WriteByte(',')
		}
		b.Write(item.value())
	}
	b.WriteByte(byte(n.kind) + 2) // in ASCII the closing bracket is the next but one
	return b.Bytes()
}

// child follows one part of a path.
func (n *node) child(part string) (*node, error) {
	if err := n.open(); err != nil {
		return nil, err
	}
	if n.kind == '{' {
		if c := n.members[part]; c != nil {
			return c, nil
		}
		return nil, fmt.Errorf("it is not there")
	}
	i, err := strconv.Atoi(part)
	if err != nil || i < 0 || i >= len(n.items) {
		return nil, fmt.Errorf("it is not there")
	}
	return n.items[i], nil
}

// put adds a member or an item, or removes one with a nil value. It returns what was there, and where an item
// came to stand.
func (n *node) put(part string, value *node, insert bool) (old *node, at string, err error) {
	if err := n.open(); err != nil {
		return nil, "", err
	}
	if n.kind == '{' {
		old = n.members[part]
		switch {
		case value == nil:
			delete(n.members, part)
			n.names = slices.DeleteFunc(n.names, func(s string) bool { return s == part })
		default:
			if old == nil {
				n.names = append(n.names, part)
			}
			n.members[part] = value
		}
		return old, part, nil
	}
	if part == "-" && insert {
		n.items = append(n.items, value)
		return nil, strconv.Itoa(len(n.items) - 1), nil
	}
	i, err := strconv.Atoi(part)
	if err != nil || i < 0 || i > len(n.items) || i == len(n.items) && !insert {
		return nil, "", fmt.Errorf("it is not there")
	}
	switch {
	case insert:
		n.items = slices.Insert(n.items, i, value)
		return nil, part, nil
	case value == nil:
		old = n.items[i]
		n.items = slices.Delete(n.items, i, i+1)
	default:
		old, n.items[i] = n.items[i], value
	}
	return old, part, nil
}

// step applies one operation and returns the operations that undo it. A list that an item is added to is made
// where there is none.
func (n *node) step(s Step) (undo []Step, err error) {
	parts := strings.Split(strings.TrimPrefix(s.Path, "/"), "/")
	at := n
	for _, part := range parts[:len(parts)-1] {
		next, cerr := at.child(notice.Unescape(part))
		if cerr != nil && s.Op == "add" && parts[len(parts)-1] == "-" && at.kind == '{' {
			next = &node{raw: jsontext.Value("[]")}
			if _, _, err := at.put(notice.Unescape(part), next, false); err != nil {
				return nil, err
			}
			undo = []Step{{Op: "remove", Path: s.Path[:len(s.Path)-len("/-")]}}
		} else if cerr != nil {
			return nil, cerr
		}
		at = next
	}
	last, base := notice.Unescape(parts[len(parts)-1]), s.Path[:strings.LastIndexByte(s.Path, '/')]
	if err := at.open(); err != nil {
		return nil, err
	}
	switch s.Op {
	case "test":
		found, err := at.child(last)
		if err != nil || !same(found.value(), s.Value) {
			return nil, fmt.Errorf("the log has changed there")
		}
		return nil, nil
	case "add":
		return at.add(last, base, s.Value, undo)
	case "replace", "remove":
		value := &node{raw: s.Value}
		if s.Op == "remove" {
			value = nil
		}
		if _, err := at.child(last); err != nil {
			return nil, err
		}
		old, _, err := at.put(last, value, false)
		if err != nil {
			return nil, err
		}
		if s.Op == "remove" {
			return []Step{{Op: "add", Path: s.Path, Value: old.value()}}, nil
		}
		return []Step{{Op: "test", Path: s.Path, Value: s.Value},
			{Op: "replace", Path: s.Path, Value: old.value()}}, nil
	}
	return nil, fmt.Errorf("the operation %s is not one of a proposal", s.Op)
}

// add puts a value where nothing stands yet, and returns the steps that take it away again, after those in undo.
func (n *node) add(last, base string, value jsontext.Value, undo []Step) ([]Step, error) {
	if _, there := n.members[last]; there {
		return nil, fmt.Errorf("the log has something there already")
	}
	if id := idOf(value); last == "-" && id != "" &&
		slices.ContainsFunc(n.items, func(one *node) bool { return idOf(one.value()) == id }) {
		return nil, fmt.Errorf("the log has %s already", id)
	}
	_, where, err := n.put(last, &node{raw: value}, true)
	if err != nil {
		return undo, err
	}
	if undo != nil { // the list that was made goes as a whole, where nothing else has come into it
		return append([]Step{{Op: "test", Path: base, Value: jsontext.Value("[" + string(value) + "]")}}, undo...), nil
	}
	return []Step{{Op: "test", Path: base + "/" + notice.Escape(where), Value: value},
		{Op: "remove", Path: base + "/" + notice.Escape(where)}}, nil
}

// idOf is the id of an object, empty for none.
func idOf(value jsontext.Value) string {
	var object struct {
		ID string `json:"id"`
	}
	_ = json.Unmarshal(value, &object)
	return object.ID
}

// apply applies a patch wholly or not at all, and returns the patch that undoes it.
func (n *node) apply(patch []Step) (undo []Step, err error) {
	for _, s := range patch {
		back, err := n.step(s)
		if err != nil {
			for _, u := range undo { // each was possible a moment ago
				if _, uerr := n.step(u); uerr != nil {
					return nil, fmt.Errorf("%s: %w, and what came before it could not be undone", s.Path, err)
				}
			}
			return nil, fmt.Errorf("%s: %w", s.Path, err)
		}
		undo = append(back, undo...)
	}
	return undo, nil
}

// same reports whether two values are one, whatever the order of their members.
func same(a, b jsontext.Value) bool {
	a, b = a.Clone(), b.Clone()
	return a.Canonicalize() == nil && b.Canonicalize() == nil && bytes.Equal(a, b)
}

// canonical are the members that say in figures and codes what verbatim says in words.
var canonical = []string{"min", "max", "best", "approximate", "resolution", "code", "label", "date", "earliest",
	"latest"}

// anew is a find of which the words that were typed over are read anew: figures and codes beside them are those of what
// was sent. Where only these came back changed, words and figures disagree, and the member is not taken up.
func (t *taker) anew(f *find.Find, i int, members map[string]bool, changed []change) (all map[string]jsontext.Value) {
	raw, err := find.Marshal(f)
	doc, typed := &node{raw: raw}, map[string]bool{}
	for _, c := range changed {
		typed[c.pointer] = true
	}
	for _, c := range changed {
		at, above, parts := doc, doc, strings.Split(c.pointer[1:], "/")
		for _, part := range parts {
			if next, err := at.child(notice.Unescape(part)); err == nil {
				at, above = next, at
			}
		}
		last := parts[len(parts)-1]
		if _, err := at.child("verbatim"); err == nil { // its words stand for it
			for _, name := range canonical {
				_, _, _ = at.put(name, nil, false)
			}
			continue
		}
		if _, err := above.child("verbatim"); err == nil && members[parts[0]] && slices.Contains(canonical, last) &&
			!typed[strings.TrimSuffix(c.pointer, "/"+last)] {
			t.say("%s: %s came back with figures or codes that are not those of its words; it is not taken up", t.label(i),
				parts[0])
			delete(members, parts[0])
		}
	}
	if err == nil {
		err = doc.open()
	}
	for _, name := range slices.Clone(doc.names) {
		if !members[name] || name == "finder" || name == "permission" || name == "outing" { // tables make such ids anew
			_, _, _ = doc.put(name, nil, false)
		}
	}
	said := &find.Find{}
	if err != nil || find.DecodeFind(doc.value(), said) != nil {
		return nil
	}
	normalise.Find(said, nil, normalise.Options{Language: t.answer.Language})
	said.Quantities(func(_, _ string, q *find.Quantity) {
		if !q.HasValue() { // not words that anybody reads as a measure
			q.Unit, q.Said = "", ""
		}
	})
	said.LocalIDs(func(kind string, id *string) {
		was := *id
		if *id = t.speaker(was); *id == "" && was != "" {
			t.say("%s: the answer names somebody (%s) who is not among its people; that is not taken up", t.label(i), was)
		}
	})
	if raw, err = find.Marshal(said); err != nil || json.Unmarshal(raw, &all) != nil {
		return nil
	}
	return all
}

// Write writes proposals as JSON.
func (p *Proposals) Write(w io.Writer) error {
	b, err := json.Marshal(p, jsontext.WithIndent("  "), json.Deterministic(true))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ReadProposals reads what Write has written, and somebody has looked at. Of the limits Side is looked at.
func ReadProposals(r io.Reader, limits limit.Limits) (*Proposals, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, fmt.Errorf("reading the proposals: %w", err)
	}
	p := &Proposals{}
	if err := json.Unmarshal(raw, p); err != nil || p.Version != answersVersion {
		return nil, fmt.Errorf("these are no proposals of an answer: write them with findslip receive LOG ANSWER -o " +
			"PROPOSALS")
	}
	return p, nil
}

// Accepted is what came of accepted proposals.
type Accepted struct {
	Log     *find.Report
	Applied int
	Refused []string   // proposals that no longer fit, and why
	Undo    *Proposals // what takes the log back to what it was; all of it is set as accepted
}

// Accept applies to a log the proposals that were accepted. One that no longer fits, because the log has
// changed where it builds on, is refused and named, and nothing of it is applied. The log is left alone.
func Accept(log *find.Report, p *Proposals) (*Accepted, error) {
	if log.ID != p.Report {
		return nil, fmt.Errorf("the proposals are for another log than this one")
	}
	raw, err := find.Marshal(log)
	if err != nil {
		return nil, err
	}
	doc := &node{raw: raw}
	out := &Accepted{Undo: &Proposals{Version: answersVersion, Private: true, Report: p.Report, Copy: p.Copy,
		From: p.From, Day: p.Day, Proposals: []Proposal{}, Said: []string{}}}
	for _, proposal := range p.Proposals {
		if !proposal.Accepted {
			continue
		}
		undo, err := doc.apply(withoutPeopleThere(doc, proposal.Patch))
		if err != nil {
			out.Refused = append(out.Refused, fmt.Sprintf("%s (find %s): %v", proposal.ID, proposal.Find, err))
			continue
		}
		out.Applied++
		back := proposal
		back.Says, back.Patch = "undo: "+proposal.Says, undo
		out.Undo.Proposals = append(out.Undo.Proposals, back)
	}
	slices.Reverse(out.Undo.Proposals) // the last goes first
	s, err := find.DecodeJSON(bytes.NewReader(doc.value()), find.Options{})
	if err != nil {
		return nil, err
	}
	out.Log, _, err = find.Collect(s)
	return out, err
}

// withoutPeopleThere leaves out of a patch the steps that add a person whom an earlier proposal has added.
func withoutPeopleThere(doc *node, patch []Step) []Step {
	return slices.DeleteFunc(slices.Clone(patch), func(s Step) bool {
		if s.Op != "add" || s.Path != "/people/-" {
			return false
		}
		people, err := doc.child("people")
		if err != nil || people.open() != nil {
			return false
		}
		return slices.ContainsFunc(people.items, func(n *node) bool { return same(n.value(), s.Value) })
	})
}
