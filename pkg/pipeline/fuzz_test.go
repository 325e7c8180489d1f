package pipeline

import (
	"bytes"
	"context"
	"os"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
)

// FuzzConvert reads anything as anything and writes it in every form: nothing panics, and what was
// written as a report is read again.
func FuzzConvert(f *testing.F) {
	for _, name := range []string{"testdata/valid/full.findslip.json", "testdata/valid/typical.findslip.json",
		"examples/thornmere/season.csv", "examples/thornmere/season.geojson",
		"examples/thornmere/season.gpx", "examples/thornmere/season.kml", "examples/thornmere/season.findslip.jsonl",
		"examples/thornmere/season.xlsx"} {
		raw, err := os.ReadFile("../../" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add("", raw)
	}
	f.Add("csv", []byte("No,Depth (in),Found,Grid ref\n1,8,12/4/26,SP 5270 9011\n2,more than a foot,,\n"))
	f.Add("gpx", []byte(`<gpx><wpt lat="52.5" lon="-1.2"><name>7</name></wpt></gpx>`))
	f.Add("kml", []byte(`<kml><Document><Placemark><Point><coordinates>-1.2,52.5</coordinates></Point></Placemark></Document></kml>`))
	f.Fuzz(func(t *testing.T, from string, data []byte) {
		format, err := ParseFormat(from)
		if from != "" && err != nil || len(data) > 1<<18 {
			return
		}
		limits := limit.Limits{Record: 64 << 10, Header: 256 << 10, Rows: 1000, Finds: 1000, Expanded: 4 << 20,
			CellLength: 16 << 10}
		for _, to := range []Format{Findslip, JSONL, GeoJSON, GPX, KML, CSV} {
			var out bytes.Buffer
			r, err := Convert(context.Background(), "-", &out,
				Options{From: format, To: to, Stdin: bytes.NewReader(data), Limits: limits})
			if err != nil {
				continue
			}
			if to == GPX || to == CSV || to == KML || to == GeoJSON { // the words of people can be such as these forms refuse
				continue
			}
			if _, err := Check(context.Background(), "-", Options{From: to, Stdin: bytes.NewReader(out.Bytes())}); err != nil &&
				r.Notices.Count(1) == 0 {
				t.Fatalf("what was written as %s is not read: %v\n%.2000s", to, err, out.Bytes())
			}
		}
	})
}

// FuzzUnpack: a hand-over of any sort is unpacked and looked at, or refused.
func FuzzUnpack(f *testing.F) {
	f.Add([]byte("PK\x05\x06" + string(make([]byte, 18))))
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		name := dir + "/in.zip"
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
		_, _ = Unpack(t.Context(), name, dir+"/out", limit.Limits{BagFiles: 100, BagBytes: 1 << 20})
	})
}
