package pipeline

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var dayInFigures = regexp.MustCompile(`\d{1,4} ?[/.\-] ?\d{1,2} ?[/.\-] ?\d`)

// textsOf are the inputs of the vectors of one kind.
func textsOf(t testing.TB, name string) []string {
	t.Helper()
	vectors := cases.Vectors[struct{ Input string }](t, name)
	var out []string
	for _, v := range vectors {
		// A column of other days may say more of a day in figures than its cell does.
		if v.Input != "" && !(name == "date-found" && dayInFigures.MatchString(v.Input)) {
			out = append(out, v.Input)
		}
	}
	if len(out) < 10 {
		t.Fatalf("%s: only %d texts", name, len(out))
	}
	return out
}

// hard are texts that one format or another could lose: signs of formulas, quotation marks, what
// looks like a number, a date, a total or an escape, all sorts of blanks and control characters.
var hard = []string{"bell", "=1+1", "'quoted'", "''", "-5", "+x", "@a", "two\nlines", "a;b,c|d\te", `say "so"`, "007",
	"1E5", "true", "½ été", "#REF!",
	"Total", "Example", "Number", "<b>&amp;</b>", "]]>", "{\"a\":1}", "x=y; z=w", "_x0041_", "_xD83D_", "_x005F_x0041_",
	"\ue0f5", "\U0001f514", "a\u200bb",
	" ends ", "a\u0007b", "a\u202eb", "＝1", "\ufffe", "nul\x00", "a\r\nb", "cr\rend", "\u0301"}

// valueOf draws a text for a field of the table.
func valueOf(t *rapid.T, f find.Field, words map[string][]string) string {
	pick := func(from []string) string { return rapid.SampledFrom(from).Draw(t, f.Name) }
	last := f.Name[strings.LastIndexByte(f.Name, '.')+1:]
	switch f.Kind {
	case find.Decimal:
		switch last {
		case "longitude":
			return pick([]string{"-1.2249252", "180", "-180", "0"})
		case "latitude":
			return pick([]string{"52.5063914", "90", "-90", "0"})
		}
		return pick([]string{"0", "1", "12.5", "0.000000001", "123456789012345678", "1701", "-199", "20.32"})
	case find.Flag:
		if last == "approximate" {
			return "true" // false is not written
		}
		return pick([]string{"true", "false"})
	case find.JSON:
		if f.Name == "extensions" {
			return pick([]string{`{"x":{"a":1,"b":[" ",null]}}`, `{"x":{"text":"=1\u0007"}}`})
		}
		return `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}`
	case find.PointerMap:
		return ""
	case find.QuantityText:
		switch {
		case f.Unit == "g":
			return pick(words["quantity-mass"])
		case f.Unit == "":
			return pick(words["quantity-count"])
		}
		return pick(words["quantity-length"])
	case find.TermText:
		return pick(append(hard[:len(hard):len(hard)], words["material"]...))
	}
	switch {
	case last == "code" && f.List != "":
		if scheme := vocabulary.Get(f.List); scheme != nil {
			return rapid.SampledFrom(scheme.Concepts).Draw(t, f.Name).Code
		}
	case f.Name == "found.verbatim":
		return pick(words["date-found"])
	case strings.HasSuffix(f.Name, "ating.verbatim"):
		return pick(words["date-dating"])
	case f.Name == "position.verbatim":
		return pick(words["position"])
	case strings.HasSuffix(f.Name, "id") && last == "id", last == "partOf", strings.HasSuffix(f.Name, ".find"):
		return pick([]string{"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9caaaa", "permission-2"})
	case last == "by", last == "keeper", last == "person", strings.HasPrefix(f.Name, "custody.") &&
		(last == "to" || last == "from"):
		return pick([]string{"person-1", "person-2", "=2+2", "nob\u200body"}) // a name that somebody bears becomes their id
	case last == "date":
		return pick([]string{"2026-04-12", "1701/1733", "2026-04", "-0199"})
	case last == "time" || last == "start" || last == "end":
		return pick([]string{"10:40", "23:59+01:00"})
	case last == "on" || last == "validFrom" || last == "validTo":
		return pick([]string{"2026-04-12", "2026-04"})
	}
	return pick(hard)
}

// filled makes a record of fields drawn from the whole table of fields; lists get one or two members.
func filled[T find.Record](t *rapid.T, words map[string][]string, share int, seen map[string]bool, skip ...string) *T {
	record := new(T)
	for _, f := range find.FieldsOf[T]() {
		if rapid.IntRange(0, 99).Draw(t, "some") >= share || slices.Contains(skip, f.Name) || f.Part && rapid.IntRange(0,
			3).Draw(t, "parts") > 0 {
			continue
		}
		text := valueOf(t, f, words)
		if text == "" {
			continue
		}
		for n := range rapid.IntRange(1, 2).Draw(t, "members") {
			path, err := find.PathTo[T](strings.ReplaceAll(f.Name, "#", fmt.Sprint(n+1)))
			if err != nil {
				break // the second of no list, or of a list without a first
			}
			if find.Set(path, record, text) == nil {
				seen[f.Name] = true
			}
		}
	}
	return record
}

func anyReport(t *rapid.T, words map[string][]string, seen map[string]bool) *find.Report {
	r := filled[find.Report](t, words, 50, seen, "id", "findslip", "idBasis", "language")
	r.Findslip, r.ID = find.Version, "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"
	r.Absent, r.Generalised = nil, nil
	some := func(label string) bool { return rapid.Bool().Draw(t, label) }
	ids := func(p *string, label string, n int) {
		*p = rapid.SampledFrom([]string{"", fmt.Sprintf("%s-%d", label, n)}).Draw(t, label)
	}
	for i := range rapid.IntRange(1, 2).Draw(t, "records") {
		person := filled[find.Person](t, words, 40, seen, "id")
		permission := filled[find.Permission](t, words, 40, seen, "id")
		outing := filled[find.Outing](t, words, 40, seen, "id")
		person.ID, permission.ID, outing.ID = fmt.Sprintf("person-%d", i+1), fmt.Sprintf("permission-%d", i+1),
			fmt.Sprintf("outing-%d", i+1)
		area := func() *find.Area {
			a := rapid.SampledFrom([]find.Area{
				{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,0],[1,1],[0,0]]]`)},
				{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,1],[1,0],[0,0]],[[0.5,0.2],[0.6,0.2],[0.6,0.3],[0.5,0.2]]]`)},
				{Type: "MultiPolygon", Coordinates: []byte(`[[[[0,0],[1,0],[1,1],[0,0]]],[[[5,0],[6,0],[6,1],[5,0]]]]`)},
				{Type: "Polygon", Coordinates: []byte(`[[[0,0,5],[1,0,5],[1,1,5],[0,0,5]]]`)},
				{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,0],[1,1]]]`)},
				{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,0],[1,1],[0,0]]]`), Unknown: []byte(`{"colour":"green"}`)},
			}).Draw(t, "area")
			return &a
		}
		if some("area") {
			permission.Area = area()
		}
		if some("excluded") {
			permission.Excluded = append(permission.Excluded, *area(), *area())
		}
		if some("unknown of a permission") {
			permission.Unknown = []byte(`{"mood":"good"}`)
		}
		permission.Absent = map[string]string{"/validTo": "not-known"}
		r.People, r.Permissions, r.Outings = append(r.People, *person), append(r.Permissions, *permission),
			append(r.Outings, *outing)
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "finds") {
		f := filled[find.Find](t, words, 25, seen, "id")
		f.ID = fmt.Sprintf("urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c%04x", i)
		honest(t, f)
		ids(&f.Finder, "person", 1)
		ids(&f.Permission, "permission", 1)
		ids(&f.Outing, "outing", 1)
		for i, p := range []*map[string]string{&f.Absent, &f.Generalised} { // a map's order would change what is drawn
			*p = nil
			if some([]string{"absent", "generalised"}[i]) {
				*p = map[string]string{"/depth": "not-measured", "/position/verbatim": "withheld"}
			}
		}
		if f.Absent != nil {
			f.Depth = nil
		}
		f.Columns = nil
		if some("columns") {
			f.Columns = map[string]string{rapid.SampledFrom(append([]string{"Depth", "name", "columns.x", "Weather", "A"},
				hard...)).Draw(t, "heading"): rapid.SampledFrom(hard).Draw(t, "cell")}
		}
		if some("unknown members") {
			f.Unknown = []byte(rapid.SampledFrom([]string{`{"colour":"green"}`,
				`{"record":"permission","text":"a\u0007"}`}).Draw(t, "unknown"))
		}
		if f.Place != nil && some("unknown members of a place") {
			f.Place.Unknown = []byte(`{"mood":"good"}`)
		}
		r.Finds = append(r.Finds, f)
	}
	return r
}

// honest takes away what contradicts the words beside it: of that a table keeps the words, and says so.
func honest(t *rapid.T, f *find.Find) {
	if f.Found != nil && f.Found.Verbatim != "" {
		f.Found.Date, f.Found.Time = "", ""
	}
	dating := func(d *find.Dating) {
		d.Earliest, d.Latest = find.Number{}, find.Number{}
		if d.Verbatim != "" {
			d.Date = ""
		}
	}
	if f.Dating != nil {
		dating(f.Dating)
	}
	for i := range f.OtherDatings {
		dating(&f.OtherDatings[i])
	}
	f.OtherDatings = slices.DeleteFunc(f.OtherDatings, func(d find.Dating) bool { return reflect.ValueOf(d).IsZero() })
	position := func(p *find.Position) {
		if p.Verbatim != "" {
			p.Longitude, p.Latitude = find.Number{}, find.Number{}
		}
	}
	if p := f.Position; p != nil {
		position(p)
		if !p.Longitude.Known() && !p.Latitude.Known() && p.Verbatim == "" && p.Area == nil {
			f.Position = nil // against the schema: of a way alone a table keeps the words among the columns
		}
	}
	for i := range f.OtherPositions {
		position(&f.OtherPositions[i])
	}
	f.OtherPositions = slices.DeleteFunc(f.OtherPositions,
		func(p find.Position) bool { return reflect.ValueOf(p).IsZero() })
	f.Quantities(func(_, _ string, q *find.Quantity) {
		if q.Verbatim != "" {
			*q = find.Quantity{Verbatim: q.Verbatim}
		}
	})
}

func written(t testing.TB, r *find.Report, o Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(r), o); err != nil {
		t.Fatalf("%s: %v", o.To, err)
	}
	return b.Bytes()
}

func readAgain(t testing.TB, raw []byte, format Format) *find.Report {
	t.Helper()
	src := bytes.NewReader(raw)
	in, err := open("there and back", src, src.Size(),
		Options{From: format, ReportID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"})
	if err != nil {
		t.Fatalf("%s: %v", format, err)
	}
	r, _, err := find.Collect(normalise.Stream(in.Stream, normalise.Options{Table: format.isTable()}))
	if err != nil {
		t.Fatalf("%s: %v", format, err)
	}
	return r
}

// Losses that this test must have met in some report, and that the table of SPEC.md section 8.8 has.
var lossesToMeet = map[Format][]string{
	GeoJSON: {lossUnknown},
	KML:     {lossUnknown, lossHeights, lossInFields},
	GPX:     {lossNowhere, lossUnknown, lossInFields},
	XLSX:    {lossUnknown, lossBlanks, lossNotDay},
	Tables:  {lossUnknown, lossBlanks, lossNUL, lossCR, lossNotDay},
	CSV:     {lossUnknown, lossBlanks, lossNUL, lossCR, lossNotDay, lossReport, "people", "permissions", "outings"},
}

// unpacked is what an archive holds as one text, so that a difference can be read; other bytes are as they are.
func unpacked(b []byte) string {
	archive, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return string(b)
	}
	var out strings.Builder
	for _, entry := range archive.File {
		fmt.Fprintf(&out, "== %s %v\n", entry.Name, entry.Modified)
		if r, err := entry.Open(); err == nil {
			_, _ = io.Copy(&out, r)
		}
		out.WriteByte('\n')
	}
	return out.String()
}

// A report with anything in it goes through each format and comes back the same but for the listed
// losses; what the comparison does not see, the bytes of the canonical JSON would show; what a
// format has written it writes again, byte for byte, once it has been read. The list of losses is
// not longer than what is lost.
func TestAnyReportThereAndBack(t *testing.T) {
	words := map[string][]string{}
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position", "material"} {
		words[name] = textsOf(t, name)
	}
	seen, met := map[string]bool{}, map[Format]map[string]bool{}
	heavy.Draws(t, 25)
	rapid.Check(t, func(rt *rapid.T) {
		source := written(t, anyReport(rt, words, seen), Options{To: Findslip})
		formats := rapid.Permutation([]Format{Findslip, JSONL, GeoJSON, KML, GPX, XLSX, CSV, Tables}).Draw(rt, "formats")
		for _, to := range formats[:heavy.Some(1, 2)] { // not all, so that a hundred reports do not take long
			as := Options{To: to, Language: rapid.SampledFrom([]string{"en", "de", "nl", "da", "fr", "sv", "nb"}).Draw(rt,
				"language"), BOM: rapid.Bool().Draw(rt, "mark")}
			o := as
			o.From, o.Level, o.Stdin = Findslip, validate.NoLevel, bytes.NewReader(source)
			c, err := CheckLoss(context.Background(), "-", o)
			if err != nil {
				rt.Fatalf("%s: %v\n%s", to, err, source)
			}
			if met[to] == nil {
				met[to] = map[string]bool{}
			}
			for _, d := range c.Differences {
				if d.Listed == "" {
					rt.Fatalf("%s: %+v is listed nowhere\n%s", to, d, source)
				}
				met[to][d.Listed] = true
			}
			// Both ends by their bytes, and the writing of what was read.
			before := readAgain(t, source, Findslip)
			first := written(t, before, as)
			after := readAgain(t, first, to)
			if len(c.Differences) == 0 {
				if d := cmp.Diff(string(written(t, wound(before), Options{To: Findslip})),
					string(written(t, wound(after), Options{To: Findslip}))); d != "" {
					rt.Fatalf("%s: the comparison is blind to %s", to, d)
				}
			}
			second := written(t, after, as)
			third := written(t, readAgain(t, second, to), as)
			if !bytes.Equal(second, third) {
				rt.Fatalf("%s: written again it is not the same: %s", to, cmp.Diff(unpacked(second), unpacked(third)))
			}
		}
	})
	for format, list := range lossesToMeet {
		if !heavy.On() {
			break // too few reports for the rare losses
		}
		for _, loss := range list {
			if !slices.ContainsFunc(slices.Collect(maps.Keys(met[format])),
				func(l string) bool { return strings.Contains(l, loss) }) {
				t.Errorf("%s: no report has lost %q; met %v", format, loss, slices.Sorted(maps.Keys(met[format])))
			}
		}
	}
	for _, f := range find.FieldsOf[find.Find]() {
		if heavy.On() && !seen[f.Name] && f.Kind != find.PointerMap && f.Name != "id" {
			t.Errorf("the field %s was never filled", f.Name)
		}
	}
}

// wound turns the rings of areas as map files have them.
func wound(r *find.Report) *find.Report {
	for i := range r.Permissions {
		p := &r.Permissions[i]
		if p.Area != nil {
			p.Area = p.Area.Wound()
		}
		for j := range p.Excluded {
			p.Excluded[j] = *p.Excluded[j].Wound()
		}
	}
	return r
}

// The table of losses in the specification says of each format what the list here says, and nothing
// more: each loss has its words in the last column, and all words there are those of a loss.
func TestTableOfLossesIsTrue(t *testing.T) {
	raw, err := os.ReadFile("../../schema/spec/tables.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ := strings.Cut(string(raw), "### 8.8 Losses")
	words := map[string][]string{
		lossUnknown: {"unknown members", "not known", "the same"}, lossHeights: {"heights in areas"},
		lossInFields: {"characters that XML"}, lossNowhere: {"without a position"},
		lossBlanks: {"blanks"}, lossNUL: {"control characters and direction marks"}, lossCR: {"carriage returns"},
		lossNotDay: {"in place of a day"},
		lossPlain:  {"--plain"},
		lossReport: {"people, permissions, outings, report"}, "people": {"people,"}, "permissions": {"permissions,"},
		"outings": {"outings,"},
	}
	has := func(phrase, loss string) bool {
		return slices.ContainsFunc(words[loss], func(w string) bool { return strings.Contains(phrase, w) })
	}
	rows, above := 0, ""
	for line := range strings.SplitSeq(text, "\n") {
		cells := strings.Split(line, "|")
		if len(cells) != 5 || strings.Contains(line, "---") || strings.Contains(line, "does not carry") {
			if rows > 0 && line == "" {
				break
			}
			continue
		}
		rows++
		name, lacks := strings.TrimSpace(cells[1]), strings.TrimSpace(cells[3])
		lacks, above = strings.Replace(lacks, "what tables do not carry", above, 1), lacks
		if name == "JSON, JSON Lines" {
			if lacks != "nothing" {
				t.Errorf("%s: %s", name, lacks)
			}
			continue
		}
		format := Format(strings.ToLower(name))
		list := lossesToMeet[format]
		if format.isTable() {
			list = append(slices.Clone(list), lossPlain)
		}
		if len(list) == 0 {
			t.Errorf("%q is no format with losses", name)
		}
		for _, loss := range list {
			if !has(lacks, loss) {
				t.Errorf("%s: %q is not in the table", name, loss)
			}
		}
		for phrase := range strings.SplitSeq(lacks, ";") {
			if !slices.ContainsFunc(list, func(loss string) bool { return has(phrase, loss) }) {
				t.Errorf("%s: %q is no loss of the list", name, phrase)
			}
		}
	}
	if rows != 7 {
		t.Errorf("%d rows", rows)
	}
}

func options(t *testing.T, to Format) Options {
	t.Helper()
	day, err := edtf.ParseDay("2026-06-01")
	if err != nil {
		t.Fatal(err)
	}
	return Options{To: to, Level: validate.NoLevel, Read: normalise.Options{AsOf: day}}
}

// What the map formats and the tables are known to lose of the full example, by format. An entry
// that is no longer needed fails, and so does a loss that is not here.
var fullLosses = map[Format][]string{
	GeoJSON: nil,
	KML:     nil,
	GPX:     {"finds TL-016"}, // has no position
	XLSX:    nil,
	Tables:  nil,
	CSV: {"outings outing-1", "outings outing-2", "people person-1", "people person-2", "people person-3",
		"people person-4", "permissions permission-1", "permissions permission-2", "report"},
}

func TestFullExampleThereAndBack(t *testing.T) {
	for format, want := range fullLosses {
		t.Run(string(format), func(t *testing.T) {
			c, err := CheckLoss(context.Background(), "../../testdata/valid/full.findslip.json", options(t, format))
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, d := range c.Differences {
				if d.Listed == "" {
					t.Errorf("%+v is listed nowhere", d)
				}
				got = append(got, strings.TrimSpace(d.Part+" "+d.Record))
			}
			slices.Sort(got)
			if d := cmp.Diff(want, slices.Compact(got)); d != "" {
				t.Error(d)
			}
		})
	}
}

func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

const header = `"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"`

// Each loss is found by the comparison, explained by the count, and the count says how often.
func TestLosses(t *testing.T) {
	awkward := `{` +
		header + `,"permissions":[{"id":"permission-1","area":{"type":"Polygon","coordinates":[[[0,0,5],[1,0,5],[1,1,5],[0,0,5]]],"colour":"green"}}],
"finds":[{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11","number":"1","name":"a\u0007b","colour":"green","place":{"name":"Long Furlong","mood":"good"},
 "position":{"longitude":-1.2,"latitude":52.5},"columns":{"bell":"\u0007"}},
{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12","number":"2","name":"jetton"}]}`
	name := write(t, "awkward.findslip.json", awkward)
	for format, want := range map[Format][]Loss{
		Findslip: nil,
		GeoJSON:  {{lossUnknown, 2}},
		KML:      {{"columns" + lossInFields, 1}, {lossHeights, 4}, {lossUnknown, 2}, {"name" + lossInFields, 1}},
		GPX:      {{"columns" + lossInFields, 1}, {lossNowhere, 1}, {lossUnknown, 1}, {"name" + lossInFields, 1}},
	} {
		t.Run(string(format), func(t *testing.T) {
			c, err := CheckLoss(context.Background(), name, options(t, format))
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want, c.Lost); d != "" {
				t.Error(d)
			}
			if c.Unlisted() > 0 || len(want) > 0 && len(c.Differences) == 0 {
				t.Errorf("%+v", c.Differences)
			}
			explained := map[string]bool{}
			for _, d := range c.Differences {
				explained[d.Listed] = true
			}
			for _, l := range c.Lost {
				if !slices.ContainsFunc(c.Differences, func(d Difference) bool { return strings.Contains(d.Listed, l.Field) }) {
					t.Errorf("no difference comes of %s: %v", l.Field, explained)
				}
			}
			var out bytes.Buffer
			r, err := Convert(context.Background(), name, &out, options(t, format))
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want, r.Lost); d != "" {
				t.Errorf("convert says something else: %s", d)
			}
		})
	}
}

// A difference that no list explains is reported as such.
func TestUnlistedDifference(t *testing.T) {
	a := &find.Report{Findslip: "1.0", Finds: []*find.Find{{ID: "x", Number: "7", Name: "bell"},
		{ID: "y", Name: "jetton"}}}
	b := &find.Report{Findslip: "1.0", Finds: []*find.Find{{ID: "x", Number: "7", Name: "ball", Notes: "n"}, {ID: "z"}}}
	c := &comparison{ctx: t.Context(), losses: newLosses(Options{To: GeoJSON})}
	c.reports(a, b)
	want := []Difference{
		{Part: "finds", Record: "7", Field: "name", What: "changed"},
		{Part: "finds", Record: "7", Field: "notes", What: "added"},
		{Part: "finds", Record: "y", What: "lost"}, {Part: "finds", Record: "z", What: "added"},
	}
	if d := cmp.Diff(want, c.out); d != "" {
		t.Error(d)
	}
}

func TestMapFormatsAreTold(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Name, Text string
		Want       Format
	}](t, "MapFormatsAreTold") {
		got, err := formatOf(c.Name, []byte(c.Text))
		if err != nil || got != c.Want {
			t.Errorf("%s with %q: %s, %v", c.Name, c.Text, got, err)
		}
	}
}
