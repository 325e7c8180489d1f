package handover

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
)

// propose proposes an item that is added to a list of a find.
func (t *taker) propose(i int, member string, item any, words string) {
	at := t.at[i]
	f := t.log.Finds[at]
	if o, is := item.(*find.Opinion); is {
		o.ID = "opinion-" + hashed(t.e.Copy, f.ID, o.By, o.On, string(o.Says), o.Certainty)
		if slices.ContainsFunc(f.Opinions, func(there find.Opinion) bool { return there.ID == o.ID }) {
			t.others = nil
			t.say("%s: an opinion is in your log already", t.label(i))
			return
		}
	}
	value, err := json.Marshal(item)
	if err != nil {
		return
	}
	quoted := func(text string) jsontext.Value { raw, _ := json.Marshal(text); return raw }
	base := fmt.Sprintf("/finds/%d", at)
	patch := []Step{{Op: "test", Path: base + "/id", Value: quoted(f.ID)}}
	if t.person != nil && bytes.Contains(value, []byte(t.person.ID)) {
		t.others = append(t.others, t.person)
	}
	for k, who := range t.others {
		if slices.ContainsFunc(t.others[:k], func(p *find.Person) bool { return p.ID == who.ID }) {
			continue
		}
		if person, err := json.Marshal(who); err == nil {
			patch = append(patch, Step{Op: "add", Path: "/people/-", Value: person})
		}
	}
	t.others = nil
	if f.Absent["/"+member] != "" {
		pointer := base + "/absent/~1" + member
		patch = append(patch, Step{Op: "test", Path: pointer, Value: quoted(f.Absent["/"+member])},
			Step{Op: "remove", Path: pointer})
	}
	patch = append(patch, Step{Op: "add", Path: base + "/" + member + "/-", Value: value})
	t.out.Proposals = append(t.out.Proposals,
		Proposal{ID: fmt.Sprintf("a-%04d", len(t.out.Proposals)+1), Find: cmp.Or(f.Number, f.Name), Says: words,
			Patch: patch})
}

// around says what came back changed of the records around the finds; none of it is taken up.
func (t *taker) around() {
	told := map[string]*register.Told{}
	for i := range t.e.Around {
		told[t.e.Around[i].ID] = &t.e.Around[i]
	}
	for i := range t.answer.People {
		look(t, told[t.answer.People[i].ID], "person", &t.answer.People[i])
	}
	for i := range t.answer.Permissions {
		look(t, told[t.answer.Permissions[i].ID], "permission", &t.answer.Permissions[i])
	}
}

// look compares a record around the finds with what was told of it; told is nil for one that is new.
func look[T find.Record](t *taker, told *register.Told, kind string, record *T) {
	if told == nil {
		if t.answer.CopyOf != "" { // a table makes ids of its own
			t.say("the answer has a new %s; it is not taken up", kind)
		}
	} else if changed, _ := changes(t, told, record); len(changed) > 0 {
		t.say("a %s came back changed; it is not taken up", kind)
	}
}
