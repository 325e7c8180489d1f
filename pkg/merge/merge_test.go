package merge_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/merge"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// The logs of three members of a club day at Thornmere, each kept in its own way.
const (
	north = "number,finder,field,date,name,material,depth\n" +
		"1,finder-a,Long Furlong,2026-04-12,crotal bell,copper alloy,6 in\n" +
		"2,finder-a,Long Furlong,2026-04-12,cloth seal,lead,4 in\n"
	south = "no.;found by;field;day;what;made of\n" +
		"1;finder-b;Chapel Piece;2026-04-12;jetton;copper alloy\n" +
		"2;finder-b;Long Furlong;2026-04-12;thimble;copper alloy\n"
	west = `{"findslip":"1.0","id":"urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000001","people":[
{"id":"person-1","handle":"finder-c"},{"id":"person-2","name":"the farm at Thornmere"}],
"permissions":[{"id":"permission-1","grantedBy":"person-2","place":{"name":"Long Furlong"}}],
"finds":[{"id":"urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101","number":"1","finder":"person-1",
"permission":"permission-1","found":{"date":"2026-04-12"},"name":"musket ball"}]}`
)

func files(named ...string) fstest.MapFS {
	out := fstest.MapFS{}
	for i := 0; i < len(named); i += 2 {
		out[named[i]] = &fstest.MapFile{Data: []byte(named[i+1])}
	}
	return out
}

func read(t testing.TB, from fs.FS, names []string, decided *merge.Decisions) *merge.Merged {
	t.Helper()
	m, err := merge.Read(t.Context(), names, merge.Options{Read: pipeline.Options{FS: from}, Decided: decided})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// written is the log that is made, and the file of questions.
func written(t testing.TB, m *merge.Merged) (r *find.Report, log, questions string) {
	t.Helper()
	var out, asked bytes.Buffer
	if err := m.Decisions.Write(&asked); err != nil {
		t.Fatal(err)
	}
	if m.Open > 0 {
		return nil, "", asked.String()
	}
	if err := pipeline.Encode(&out, m.Stream(t.Context()), pipeline.Options{To: pipeline.Findslip}); err != nil {
		t.Fatal(err)
	}
	s, err := find.DecodeJSON(bytes.NewReader(out.Bytes()), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, _, err = find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return r, out.String(), asked.String()
}

// decide answers the questions of a kind, and takes the file back as a person would hand it in.
func decide(t testing.TB, m *merge.Merged, kind, answer string) *merge.Decisions {
	t.Helper()
	found := false
	for i := range m.Decisions.Questions {
		if q := &m.Decisions.Questions[i]; q.Kind == kind {
			q.Decision, found = answer, true
		}
	}
	if !found {
		t.Fatalf("nothing of the kind %s is asked: %+v", kind, m.Decisions.Questions)
	}
	var b bytes.Buffer
	if err := m.Decisions.Write(&b); err != nil {
		t.Fatal(err)
	}
	d, err := merge.ReadDecisions(&b, limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Two finders' no. 1 are two finds; nothing depends on the order of the logs; what is one field is one.
func TestClubDay(t *testing.T) {
	from := files("north.csv", north, "south.csv", south, "west.findslip.json", west)
	names := []string{"north.csv", "south.csv", "west.findslip.json"}
	r, log, questions := written(t, read(t, from, names, nil))
	if len(r.Finds) != 5 {
		t.Fatalf("%d finds", len(r.Finds))
	}
	who := map[string]string{}
	for _, f := range r.Finds {
		p := r.Person(f.Finder)
		who[f.Name] = f.Number + " " + p.Handle + p.Name + " " + r.Permission(f.Permission).Place.Name
	}
	want := map[string]string{"crotal bell": "1 finder-a Long Furlong", "cloth seal": "2 finder-a Long Furlong",
		"jetton": "1 finder-b Chapel Piece", "thimble": "2 finder-b Long Furlong", "musket ball": "1 finder-c Long Furlong"}
	if d := cmp.Diff(want, who); d != "" {
		t.Error(d)
	}
	if len(r.People) != 4 || len(r.Permissions) != 4 { // of the fields of one name none is surely one
		t.Errorf("%d people, %d fields", len(r.People), len(r.Permissions))
	}
	random := rand.New(rand.NewPCG(3, 5))
	for range 6 {
		random.Shuffle(len(names), func(i, k int) { names[i], names[k] = names[k], names[i] })
		_, again, asked := written(t, read(t, from, names, nil))
		if again != log || asked != questions {
			t.Fatal("the order of the logs changes what is made of them")
		}
	}
	r, _, _ = written(t, read(t, from, names, decide(t, read(t, from, names, nil), "permission", "one")))
	if len(r.Permissions) != 2 {
		t.Errorf("%d fields, though Long Furlong was said to be one", len(r.Permissions))
	}
}

// Fourteen members send a file of one name, each with a no. 1.
func TestOneNameForAll(t *testing.T) {
	from := fstest.MapFS{}
	var names []string
	for i := range 14 {
		name := fmt.Sprintf("%d/finds.csv", i)
		names = append(names, name)
		from[name] = &fstest.MapFile{Data: fmt.Appendf(nil,
			"number,finder,field,date,name\n1,finder-%c,Long Furlong,2026-04-12,buckle %d\n", 'a'+i, i)}
	}
	r, log, _ := written(t, read(t, from, names, nil))
	ids := map[string]bool{}
	for _, f := range r.Finds {
		ids[f.ID] = true
	}
	if len(ids) != 14 || len(r.Finds) != 14 || len(r.People) != 14 {
		t.Errorf("%d ids, %d finds, %d people", len(ids), len(r.Finds), len(r.People))
	}
	slices.Reverse(names)
	if _, again, _ := written(t, read(t, from, names, nil)); again != log {
		t.Error("the order of the logs changes what is made of them")
	}
}

// state is a state of a log of two finds.
func state(changed, name, rest string) string {
	return `{"findslip":"1.0","id":"urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000001","changed":"` + changed + `",
"people":[{"id":"person-1","handle":"finder-a"}],"finds":[{"id":"urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101",
"number":"1","finder":"person-1","name":"` + name + `"` +
		rest + `},{"id":"urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000102",
"number":"2","finder":"person-1","name":"thimble"}]}`
}

// Contradictions are decided in a file; until then there is no log.
func TestContradictions(t *testing.T) {
	from := files("may.findslip.json", state("2026-05-01T00:00:00Z", "lump", `,"depth":{"verbatim":"4 in"}`),
		"june.findslip.json", state("2026-06-01T00:00:00Z", "crotal bell", `,"notes":"with pea"`))
	names := []string{"may.findslip.json", "june.findslip.json"}
	m := read(t, from, names, nil)
	if m.Open != 1 {
		t.Fatalf("%d open: %+v", m.Open, m.Decisions.Questions)
	}
	for e, err := range m.Stream(t.Context()).Entries {
		if err == nil {
			t.Fatalf("a log, though a contradiction is open: %v", e)
		}
	}
	for answer, want := range map[string]string{"a": "crotal bell", "b": "lump"} { // june comes before may
		r, _, _ := written(t, read(t, from, names, decide(t, read(t, from, names, nil), "newer", answer)))
		f := r.Finds[0]
		if len(r.Finds) != 2 || f.Name != want || f.Depth == nil || f.Notes != "with pea" {
			t.Errorf("%s: %+v", answer, f)
		}
	}
	each := read(t, from, names, decide(t, read(t, from, names, nil), "newer", "ask"))
	if each.Open != 1 {
		t.Fatalf("%+v", each.Decisions.Questions)
	}
	r, _, _ := written(t, read(t, from, names, decide(t, each, "member", "a")))
	if r.Finds[0].Name != "crotal bell" {
		t.Errorf("%+v", r.Finds[0])
	}
	from["may.findslip.json"].Data = []byte(state("2026-05-02T00:00:00Z", "bell?", ""))
	if m := read(t, from, names, decide(t, each, "member", "a")); m.Open == 0 || len(m.Stale) == 0 {
		t.Errorf("a decision holds of what was changed since: %d open, stale %v", m.Open, m.Stale)
	}
}

// What is withheld or coarser never stands against what another source has.
func TestLessNeverWins(t *testing.T) {
	full := state("", "bell", `,"found":{"date":"2026-04-12"},"depth":{"min":10,"max":10,"unit":"cm","verbatim":"10 cm"},
"position":{"longitude":-1.2345,"latitude":52.5,"uncertainty":8}`)
	less := state("", "bell", `,"found":{"date":"2026-04"},
"position":{"longitude":-1.25,"latitude":52.55,"uncertainty":6500},
"absent":{"/depth":"withheld"},"generalised":{"/found/date":"month","/position":"grid-0.1"}`)
	m := read(t, files("a.findslip.json", full, "b.findslip.json", less), []string{"b.findslip.json", "a.findslip.json"},
		nil)
	r, _, _ := written(t, m)
	f := r.Finds[0]
	if f.Depth == nil || f.Found.Date != "2026-04-12" || f.Position.Latitude.Float() != 52.5 || len(f.Absent) > 0 ||
		len(f.Generalised) > 0 {
		t.Errorf("%+v", f)
	}
}

// A find that stands in two logs under two ids is shown twice until somebody says that it is one.
func TestSameFindTwice(t *testing.T) {
	other := strings.NewReplacer("000000000001", "000000000009", "000000000101", "000000000901", "000000000102",
		"000000000902").Replace(state("", "bell", `,"found":{"date":"2026-04-12"},"weight":{"verbatim":"12 g"}`))
	from := files("a.findslip.json", state("", "bell", `,"found":{"date":"2026-04-12"},"depth":{"verbatim":"4 in"}`),
		"b.findslip.json", other)
	names := []string{"a.findslip.json", "b.findslip.json"}
	m := read(t, from, names, nil)
	r, _, _ := written(t, m)
	if len(r.Finds) != 4 || len(r.People) != 1 {
		t.Errorf("%d finds, %d people", len(r.Finds), len(r.People))
	}
	r, _, _ = written(t, read(t, from, names, decide(t, m, "same-find", "one")))
	if f := r.Finds[0]; len(r.Finds) != 2 || f.Depth == nil || f.Weight == nil || len(f.Replaces) != 1 {
		t.Errorf("%d finds; %+v", len(r.Finds), f)
	}
}

// A table that was copied with its ids holds other finds under them.
func TestCopiedIDs(t *testing.T) {
	from := files("a.findslip.json", state("", "bell", `,"found":{"date":"2026-04-12"}`), "b.findslip.json",
		strings.Replace(state("", "buckle", `,"found":{"date":"2026-04-19"}`), "000000000001", "000000000002", 1))
	names := []string{"a.findslip.json", "b.findslip.json"}
	m := read(t, from, names, nil)
	if m.Open != 1 {
		t.Fatalf("%+v", m.Decisions.Questions)
	}
	r, _, _ := written(t, read(t, from, names, decide(t, m, "identity", "two")))
	ids := map[string]bool{}
	for _, f := range r.Finds {
		ids[f.ID] = true
	}
	if len(r.Finds) != 3 || len(ids) != 3 { // the thimble is equal in both
		t.Errorf("%d finds, %d ids", len(r.Finds), len(ids))
	}
}

// The page of one member shows nothing of what another wrote.
func TestPages(t *testing.T) {
	from := files("a.findslip.json", state("", "bell", `,"depth":{"verbatim":"4 in"}`), "b.findslip.json",
		strings.Replace(state("", "canary", `,"depth":{"verbatim":"9 in"}`), "000000000001", "000000000002", 1))
	m := read(t, from, []string{"a.findslip.json", "b.findslip.json"}, nil)
	pages, err := m.Pages(t.Context(), "test")
	if err != nil || len(pages) != 2 {
		t.Fatal(err, len(pages))
	}
	first := string(pages[0].HTML)
	if strings.Contains(first, "canary") || strings.Contains(first, "9 in") || !strings.Contains(first, "Find 1: name") {
		t.Error(first)
	}
	from = files("a.csv", "No,Field,Find\n5,Long Furlong,\"mortar shell, rusty\"\n",
		"b.csv", "No,Find\n1,bell\n")
	pages, err = read(t, from, []string{"a.csv", "b.csv"}, nil).Pages(t.Context(), "test")
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []bool{true, false} {
		for _, words := range []string{"Do not touch", "C2"} {
			if strings.Contains(string(pages[i].HTML), words) != want {
				t.Errorf("page %d: %q is to stand there: %v", i, words, want)
			}
		}
	}
}

// A file of decisions with a word that is no choice is refused, and so is another file.
func TestReadDecisions(t *testing.T) {
	for text, fine := range map[string]bool{
		`{"mergeVersion":"1.0","questions":[{"id":"q-1","choices":["one","two"],"decision":" One "}]}`: true,
		`{"mergeVersion":"1.0","questions":[{"id":"q-1","choices":["one","two"],"decision":"yes"}]}`:   false,
		`{"answersVersion":"1.0"}`: false, `[`: false} {
		if _, err := merge.ReadDecisions(strings.NewReader(text), limit.Limits{}); (err == nil) != fine {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// Ten logs of ten thousand finds each become one.
func TestManyFinds(t *testing.T) {
	heavy.Test(t)
	from := fstest.MapFS{}
	var names []string
	for i := range 10 {
		var b bytes.Buffer
		b.WriteString("number,finder,field,date,name,depth\n")
		for k := range 10_000 {
			fmt.Fprintf(&b, "%d,finder-%c,Long Furlong,2026-04-%02d,musket ball,%d in\n", k+1, 'a'+i, k%28+1, k%12+1)
		}
		name := fmt.Sprintf("log-%d.csv", i)
		from[name] = &fstest.MapFile{Data: b.Bytes()}
		names = append(names, name)
	}
	m := read(t, from, names, nil)
	n := 0
	for _, err := range m.Stream(t.Context()).Entries {
		if err != nil {
			t.Fatal(err)
		}
		n++
	}
	if n != 100_000 || m.Open != 0 {
		t.Errorf("%d finds, %d open", n, m.Open)
	}
}
