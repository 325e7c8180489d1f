package pipeline

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
)

const (
	idA = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11"
	idB = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12"
	idC = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a13"
	idD = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a14"
)

// convertSince converts a CSV log with the ids of an earlier conversion.
func convertSince(t *testing.T, csv, old string) (*find.Report, map[string][]string) {
	t.Helper()
	o := options(t, Findslip)
	o.Since = write(t, "old.findslip.json",
		`{`+header+`,"people":[{"id":"person-1","handle":"finder-a"},{"id":"person-2","handle":"finder-b"}],"finds":[`+old+
			`]}`)
	var out bytes.Buffer
	r, err := Convert(context.Background(), write(t, "log.csv", csv), &out, o)
	if err != nil {
		t.Fatal(err)
	}
	report := collected(t, out.Bytes())
	said := map[string][]string{}
	for _, n := range r.Notices {
		if n.Kind == sinceAmbiguous || n.Kind == sinceUnpaired {
			said[n.Kind.Code] = append(said[n.Kind.Code], n.Find)
		}
	}
	return report, said
}

func idsOf(r *find.Report) []string {
	var out []string
	for _, f := range r.Finds {
		out = append(out, f.ID)
	}
	return out
}

func TestSince(t *testing.T) {
	old := func(id, number, finder string) string {
		return `{"id":"` + id + `","number":"` + number + `","name":"bell","finder":"` + finder + `"}`
	}
	const report = "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"
	for name, c := range map[string]struct {
		csv, old string
		ids      []string // empty: an id that is none of the earlier ones
		said     map[string][]string
	}{
		"by number": {"Number,Find,Finder\n007,bell,finder-a\n8,jetton,finder-a\n",
			old(idA, "7", "person-1") + "," + old(idB, "8", "person-1"),
			[]string{idA, idB}, map[string][]string{}},
		"by id before number": {"Number,Find,Finder,id\n8,bell,finder-a," + idA + "\n7,jetton,finder-a,\n",
			old(idA, "7", "person-1") + "," + old(idB, "8", "person-1"),
			[]string{idA, ""}, map[string][]string{"since-unpaired": {"", "7"}}},
		"by number and finder": {"Number,Find,Finder\n7,bell,finder-b\n7,bell,finder-a\n",
			old(idA, "7", "person-1") + "," + old(idB, "7", "person-2"),
			[]string{idB, idA}, map[string][]string{}},
		"ambiguous": {"Number,Find,Finder\n7,bell,finder-a\n", old(idA, "7", "person-1") + "," + old(idB, "7", "person-1"),
			[]string{""}, map[string][]string{"since-ambiguous": {"7"}}},
		"ambiguous by the id that follows from the number": {"Number,Find,Finder\n7,bell,finder-a\n",
			old(find.FindID(report, "7"), "7", "person-1") + "," + old(idB, "7", "person-1"),
			[]string{""}, map[string][]string{"since-ambiguous": {"7"}}},
		"renumbered": {"Number,Find,Finder\n9,bell,finder-a\n7,jetton,finder-a\n",
			old(find.FindID(report, "7"), "9", "person-1"),
			[]string{find.FindID(report, "7"), ""}, map[string][]string{"since-ambiguous": {"7"}}},
		"new and gone": {"Number,Find,Finder\n9,bell,finder-a\n", old(idC, "7", "person-1"),
			[]string{""}, map[string][]string{"since-unpaired": {"", "9"}}},
		"one of two on one side": {"Number,Find,Finder\n7,bell,finder-a\n7,bell,finder-b\n", old(idD, "7", "person-2"),
			[]string{"", idD}, map[string][]string{"since-ambiguous": {"7"}}},
	} {
		t.Run(name, func(t *testing.T) {
			r, said := convertSince(t, c.csv, c.old)
			if r.ID != report {
				t.Errorf("the report has the id %s", r.ID)
			}
			seen := map[string]bool{}
			for i, id := range idsOf(r) {
				switch want := c.ids[i]; {
				case want == "" && strings.Contains(c.old, id) || want != "" && id != want || seen[id]:
					t.Errorf("find %d has the id %s, want %q", i, id, want)
				}
				seen[id] = true
			}
			if d := cmp.Diff(c.said, said); d != "" {
				t.Error(d)
			}
		})
	}
}

// A log that has not changed keeps every id, numbered or not, when it is converted with its own
// outcome.
func TestSinceItself(t *testing.T) {
	o := options(t, Findslip)
	var first, second bytes.Buffer
	const season = "../../examples/thornmere/season.xlsx"
	if _, err := Convert(context.Background(), season, &first, o); err != nil {
		t.Fatal(err)
	}
	o.Since = write(t, "first.findslip.json", first.String())
	r, err := Convert(context.Background(), season, &second, o)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(first.String(), second.String()); d != "" {
		t.Error(d)
	}
	for _, n := range r.Notices {
		if n.Kind == sinceAmbiguous || n.Kind == sinceUnpaired {
			t.Errorf("%s is said of %s", n.Kind.Code, n.Find)
		}
	}
}

// What the new file withholds or has coarser does not take away what the earlier one has; all else is
// as the new file has it. Expected by SPEC.md requirement 3.6-6.
func TestSinceKeeps(t *testing.T) {
	const (
		depth    = `"depth":{"min":20.32,"max":20.32,"unit":"cm","said":"in","resolution":2.54,"verbatim":"8 in"}`
		place    = `"position":{"longitude":-1.22213,"latitude":52.50654,"uncertainty":5,"uncertaintyBasis":{"code":"device"}}`
		coarse   = `"position":{"longitude":-1.25,"latitude":52.55,"uncertainty":6500,"uncertaintyBasis":{"code":"generalised"}}`
		withheld = `"absent":{"/depth":"withheld"}`
	)
	for name, c := range map[string]struct {
		old, fresh, want string
		said             []string
	}{
		"withheld":                {depth, withheld, depth, []string{"/depth"}},
		"withheld by both":        {withheld, withheld, withheld, nil},
		"withheld from the first": {`"notes":"n"`, withheld, withheld, nil},
		"not measured is no copy": {depth, `"absent":{"/depth":"not-measured"}`, `"absent":{"/depth":"not-measured"}`,
			nil},
		"stated anew": {depth, strings.ReplaceAll(depth, "20.32", "20.4"),
			strings.ReplaceAll(depth, "20.32", "20.4"), nil},
		"silent": {depth + `,"notes":"n"`, depth, depth, nil},
		"one of several": {depth, `"notes":"n","absent":{"/depth":"withheld","/place":"withheld"}`,
			depth + `,"notes":"n","absent":{"/place":"withheld"}`, []string{"/depth"}},
		"a part": {`"place":{"name":"Long Furlong","parish":"Thornmere"}`,
			`"place":{"parish":"Thornmere"},"absent":{"/place/name":"withheld"}`,
			`"place":{"name":"Long Furlong","parish":"Thornmere"}`, []string{"/place/name"}},
		"a part of nothing": {`"place":{"name":"Long Furlong","parish":"Thornmere"}`,
			`"absent":{"/place/name":"withheld"}`, `"place":{"name":"Long Furlong"}`, []string{"/place/name"}},
		"coarser": {place,
			coarse + `,"generalised":{"/position":"grid-0.1","/position/uncertainty":"cell-of-one-permission"}`, place,
			[]string{"/position"}},
		"coarser than coarse": {coarse + `,"generalised":{"/position":"grid-0.1"}`,
			coarse + `,"generalised":{"/position":"grid-1"}`, coarse + `,"generalised":{"/position":"grid-0.1"}`,
			[]string{"/position"}},
		"finer than coarse": {coarse + `,"generalised":{"/position":"grid-1"}`,
			coarse + `,"generalised":{"/position":"grid-0.1"}`, coarse + `,"generalised":{"/position":"grid-0.1"}`, nil},
		"as coarse as before": {coarse + `,"generalised":{"/position":"grid-0.1"}`,
			`"position":{"longitude":-1.35,"latitude":52.55},"generalised":{"/position":"grid-0.1"}`,
			`"position":{"longitude":-1.35,"latitude":52.55},"generalised":{"/position":"grid-0.1"}`, nil},
		"a longer time": {`"found":{"date":"2026-03"},"generalised":{"/found/date":"month"}`,
			`"found":{"date":"2026"},"generalised":{"/found/date":"year"}`,
			`"found":{"date":"2026-03"},"generalised":{"/found/date":"month"}`, []string{"/found/date"}},
		"no telling which is coarser": {coarse + `,"generalised":{"/position":"grid-x"}`,
			coarse + `,"generalised":{"/position":"grid-0.1"}`, coarse + `,"generalised":{"/position":"grid-0.1"}`, nil},
		"a shape that is none":   {depth + `,"name":4`, `"name":4,` + withheld, `"name":4,` + depth, []string{"/depth"}},
		"a pointer that is none": {depth, `"absent":{"depth":"withheld"}`, `"absent":{"depth":"withheld"}`, nil},
		"of what was coarse before": {coarse +
			`,"generalised":{"/position":"grid-0.1","/found/date":"month"},"found":{"date":"2026-03"}`,
			`"absent":{"/position":"withheld"},"found":{"date":"2026-03-25"}`,
			coarse + `,"generalised":{"/position":"grid-0.1"},"found":{"date":"2026-03-25"}`, []string{"/position"}},
		"of what was absent before": {`"place":{"parish":"Thornmere"},"absent":{"/place/name":"not-noted","/depth":"not-measured"}`, `"absent":{"/place":"withheld","/place/parish":"withheld"}`, `"place":{"parish":"Thornmere"},"absent":{"/place/name":"not-noted"}`, []string{"/place"}},
		"within a list": {`"materials":[{"code":"iron"},{"code":"wood"}]`,
			`"materials":[{"code":"iron"}],"absent":{"/materials/part":"withheld"}`,
			`"materials":[{"code":"iron"},{"code":"wood"}]`, []string{"/materials"}},
		"less, of no copy for others": {depth + `,"columns":{"Weather":"fog"}`,
			`"depth":{"min":20.32,"max":20.32,"unit":"cm","said":"in","resolution":2.54}`,
			`"depth":{"min":20.32,"max":20.32,"unit":"cm","said":"in","resolution":2.54}`, nil},
		"members that nobody knows": {`"clubPoints":{"a":1}`, `"absent":{"/clubPoints":"withheld"}`, `"clubPoints":{"a":1}`,
			[]string{"/clubPoints"}},
	} {
		t.Run(name, func(t *testing.T) {
			report := func(members string) string {
				return `{` + header + `,"finds":[{"id":"` + idA + `","number":"7",` + members + `},{"id":"` + idB +
					`","number":"8"}]}`
			}
			convert := func(text string, since string) (string, *Result) {
				o := options(t, JSONL)
				o.Since = since
				var out bytes.Buffer
				r, err := Convert(context.Background(), write(t, "new.findslip.json", text), &out, o)
				if err != nil {
					t.Fatal(err)
				}
				return strings.Split(out.String(), "\n")[1], r
			}
			got, r := convert(report(c.fresh), write(t, "old.findslip.json", report(c.old)))
			want, _ := convert(report(c.want), "")
			if got != want {
				t.Errorf("got  %s\nwant %s", got, want)
			}
			var said []string
			for _, n := range r.Notices {
				if n.Kind == sinceKept {
					said = append(said, strings.TrimPrefix(n.Pointer, "/finds/0"))
				}
			}
			if d := cmp.Diff(c.said, said); d != "" {
				t.Error(d)
			}
		})
	}
}

// collected is a report in JSON with all its finds.
func collected(t *testing.T, text []byte) *find.Report {
	t.Helper()
	s, err := find.DecodeJSON(bytes.NewReader(text), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	report, _, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return report
}

// What is kept of the earlier file is held, and the limit says how much of it.
func TestSinceKeepsWithinLimits(t *testing.T) {
	o := options(t, JSONL)
	o.Limits.Held = 100
	o.Since = write(t, "old.findslip.json",
		`{`+header+`,"finds":[{"id":"`+idA+`","number":"7","notes":"`+strings.Repeat("long ", 50)+`"}]}`)
	fresh := write(t, "new.findslip.json", `{`+header+`,"finds":[{"id":"`+idA+
		`","number":"7","absent":{"/notes":"withheld"}}]}`)
	if _, err := Convert(context.Background(), fresh, new(bytes.Buffer), o); err == nil || !strings.Contains(err.Error(),
		"held") {
		t.Errorf("error %v", err)
	}
}
