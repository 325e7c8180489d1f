package pipeline

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/validate"
)

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
	awkward := `{` + header + `,"permissions":[{"id":"permission-1","area":{"type":"Polygon","coordinates":[[[0,0,5],[1,0,5],[1,1,5],[0,0,5]]],"colour":"green"}}],
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
	for _, c := range []struct {
		name, text string
		want       Format
	}{
		{"a.gpx", "<gpx/>", GPX},
		{"a.xml", `<?xml version="1.0"?><gpx version="1.1">`, GPX},
		{"a.kml", "<kml/>", KML},
		{"a.txt", "\xef\xbb\xbf<?xml version=\"1.0\"?>\n<kml xmlns=\"x\">", KML},
		{"a.gpx", "<kml/>", KML},
		{"a.kmz", "PK\x03\x04", KML},
	} {
		got, err := formatOf(c.name, []byte(c.text))
		if err != nil || got != c.want {
			t.Errorf("%s with %q: %s, %v", c.name, c.text, got, err)
		}
	}
}
