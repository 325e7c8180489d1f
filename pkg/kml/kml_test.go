package kml

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

func report() *find.Report {
	return &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Title:  "Long Furlong & Chapel Piece",
		People: []find.Person{{ID: "person-1", Handle: "finder-a"}},
		Permissions: []find.Permission{
			{ID: "permission-1", Basis: &find.Term{Code: "oral-owner", Verbatim: "asked the farmer"},
				Place: &find.Place{Name: "Long Furlong"},
				Area: &find.Area{Type: "Polygon",
					Coordinates: []byte(`[[[0,0],[1,0],[1,1],[0,0]],[[0.5,0.2],[0.6,0.3],[0.6,0.2],[0.5,0.2]]]`)},
				Excluded: []find.Area{{Type: "Polygon", Coordinates: []byte(`[[[0.2,0.1],[0.3,0.1],[0.3,0.2],[0.2,0.1]]]`)}}},
			{ID: "permission-2", Area: &find.Area{Type: "MultiPolygon", Coordinates: []byte(`[[[[2,0],[3,0],[3,1],[2,0]]]]`)}}},
		Finds: []*find.Find{
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11", Number: "1", Finder: "person-1", Name: "bell <crotal>",
				Found: &find.Found{Date: "2026-03-25"},
				Position: &find.Position{Longitude: find.Float(-1.2345678), Latitude: find.Float(52.5),
					Uncertainty: find.Int(5), Method: &find.Term{Code: "phone"}},
				Depth: &find.Depth{Quantity: find.Quantity{Min: find.Float(20.32), Max: find.Float(20.32), Unit: "cm",
					Said: "in", Verbatim: `8"`}},
				Unknown: []byte(`{"colour":"green"}`)},
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", Name: "jetton", Columns: map[string]string{"Mood": "good"},
				Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.6)}},
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a13", Name: "no place",
				Absent: map[string]string{"/position": "withheld"}},
		}}
}

func encode(t *testing.T, r *find.Report) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(r)); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func decode(text string) (*find.Report, notice.List, error) {
	s, err := Decode(strings.NewReader(text), Options{})
	if err != nil {
		return nil, nil, err
	}
	return find.Collect(s)
}

// TestUnseen: visibility (OGC KML 2.3, 9.1.3.2) of a placemark, of its folder, of none around it.
func TestUnseen(t *testing.T) {
	const place = `<name>bell</name><Point><coordinates>1,2</coordinates></Point></Placemark>`
	s, err := Decode(strings.NewReader(`<kml><Document><visibility>1</visibility><Placemark>`+place+
		`<Placemark><visibility>0</visibility>`+place+`<Folder><visibility>false</visibility><Folder><Placemark>`+place+
		`</Folder></Folder><Placemark>`+place+`</Document></kml>`), Options{})
	if err != nil {
		t.Fatal(err)
	}
	got := ""
	for e, err := range s.Entries {
		got += fmt.Sprint(e.Origin.Unseen, err, " ")
	}
	if got != "<nil> hidden<nil> hidden<nil> <nil> " {
		t.Error(got)
	}
}

// That it comes back is held for every format by TestAnyReportThereAndBack of pkg/pipeline.
func TestWhatIsWritten(t *testing.T) {
	text := encode(t, report())
	for _, part := range []string{"<when>2026-03-25</when>", "<coordinates>-1.2345678,52.5</coordinates>",
		"<description>bell &amp;lt;crotal&amp;gt;</description>"} {
		if !strings.Contains(string(text), part) {
			t.Errorf("%s is not in the file", part)
		}
	}
	if strings.Contains(string(text), "position.longitude") {
		t.Error("the longitude stands outside the point")
	}
}

func TestUnfitDataAreKept(t *testing.T) {
	got, list, err := decode(`<kml><Placemark><ExtendedData><Data name="record"><value>find</value></Data><Data ` +
		`name="depth.min"><value>deep</value></Data></ExtendedData></Placemark></kml>`)
	if err != nil {
		t.Fatal(err)
	}
	if got.Finds[0].Columns["depth.min"] != "deep" || len(list) != 2 || list[1].Kind != &kinds.FieldUnreadable {
		t.Errorf("%v %v", got.Finds[0].Columns, list)
	}
}

// A placemark whose geometry cannot be read is kept with its coordinates as text, and the next one is read.
func TestBadPlacemarks(t *testing.T) {
	place := func(coordinates string) string {
		return `<Placemark><Point><coordinates>` + coordinates + `</coordinates></Point></Placemark>`
	}
	ring := func(coordinates string) string {
		return `<Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>` + coordinates +
			`</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>`
	}
	for name, text := range map[string]string{
		"no numbers": place("here"), "blanks": place("-1.2, 52.5"), "grid": place("452700,290110"),
		"two points": place("1,2 3,4"),
		"open ring":  ring("0,0 1,0 1,1 0,1"), "short ring": ring("0,0 1,0 0,0"),
		"line as land": `<Placemark><ExtendedData><Data name="record"><value>permission</value></Data></ExtendedData>
			<LineString><coordinates>0,0 1,1</coordinates></LineString></Placemark>`,
	} {
		t.Run(name, func(t *testing.T) {
			got, list, err := decode("<kml>" + text + place("-1.2,52.5") + "</kml>")
			if err != nil {
				t.Fatal(err)
			}
			last := got.Finds[len(got.Finds)-1]
			if !last.Position.Located() ||
				!slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == &kinds.PlaceUnreadable }) {
				t.Errorf("%+v %v", last, list)
			}
			kept, err := find.Marshal(got)
			if coordinates := regexp.MustCompile(`<coordinates>(.*?)</`).FindStringSubmatch(text)[1]; err != nil ||
				!strings.Contains(string(kept), coordinates) {
				t.Errorf("%s is lost: %s", coordinates, kept)
			}
		})
	}
}

func TestRefusals(t *testing.T) {
	for name, c := range map[string]struct{ text, code string }{
		"kmz": {"PK\x03\x04....", "kml-archive"},
		"entity bomb": {`<!DOCTYPE kml [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><kml><Placemark><name>&b;</name>` +
			`</Placemark></kml>`, "kml-doctype"},
		"other xml": {`<gpx/>`, "not-kml"},
		"cut short": {`<kml><Document><Placemark>`, "kml-cut-short"},
		"not xml":   {`<kml><Placemark></kml>`, "kml-syntax"},
		"folders": {`<kml>` + strings.Repeat("<Folder>", 100) + strings.Repeat("</Folder>", 100) + `</kml>`,
			"kml-too-deep"},
		"too large": {`<kml><Placemark><name>` + strings.Repeat("a", 2<<20) + `</name></Placemark></kml>`, "kml-too-large"},
		"report": {`<kml><Document><ExtendedData><Data name="findslip"><value>{</value></Data></ExtendedData></Document>` +
			`</kml>`, "kml-report"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := decode(c.text)
			var e *find.ReadError
			if !errors.As(err, &e) || e.Code != c.code {
				t.Errorf("error %v", err)
			}
		})
	}
}

func FuzzDecode(f *testing.F) {
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(report())); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(`<kml><Folder><name>a</name><Placemark><name>1</name><Point><coordinates>1,2</coordinates></Point>` +
		`</Placemark></Folder></kml>`))
	f.Add([]byte(`<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>0,0 1,0 1,1 0,0</coordinates>` +
		`</LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`))
	f.Add([]byte(`<kml><Placemark><ExtendedData><Data name="Grid ref"><value>SP 5270 9011</value></Data></ExtendedData>` +
		`</Placemark></kml>`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, _, err := decode(string(data))
		if err != nil {
			return
		}
		var once bytes.Buffer
		if err := Encode(&once, find.StreamOf(r)); err != nil {
			t.Fatalf("cannot write what was read: %v", err)
		}
		again, list, err := decode(once.String())
		if err != nil {
			t.Fatalf("cannot read what was written: %v\n%s", err, once.Bytes())
		}
		if len(again.Finds) != len(r.Finds) ||
			slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == &kinds.ReportMissing }) {
			t.Fatalf("%d finds became %d: %v", len(r.Finds), len(again.Finds), list)
		}
		var twice bytes.Buffer
		if err := Encode(&twice, find.StreamOf(again)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(once.Bytes(), twice.Bytes()) {
			t.Fatalf("written twice is not written once:\n%s\n%s", once.Bytes(), twice.Bytes())
		}
	})
}

func ExampleEncode() {
	r := &find.Report{Findslip: "1.0", Finds: []*find.Find{{Number: "7", Name: "jetton",
		Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}}}}
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(r)); err != nil {
		fmt.Println(err)
	}
	fmt.Print(b.String()[strings.Index(b.String(), "<Folder>"):])
	// Output:
	// <Folder>
	//   <name>Finds</name>
	// <Placemark>
	//   <name>7</name>
	//   <description>jetton</description>
	//   <ExtendedData>
	//     <Data name="record"><value>find</value></Data>
	//     <Data name="number"><value>7</value></Data>
	//     <Data name="name"><value>jetton</value></Data>
	//   </ExtendedData>
	//   <Point><coordinates>-1.2,52.5</coordinates></Point>
	// </Placemark>
	// </Folder>
	// </Document>
	// </kml>
}
