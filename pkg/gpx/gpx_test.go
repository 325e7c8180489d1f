package gpx

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func report() *find.Report {
	return &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Title:  "Long Furlong & Chapel Piece",
		People: []find.Person{{ID: "person-1", Handle: "finder-a"}},
		Finds: []*find.Find{
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11", Number: "1", Finder: "person-1", Name: "bell <crotal>",
				Found: &find.Found{Date: "2026-03-25"},
				Position: &find.Position{Longitude: find.Float(-1.2345678), Latitude: find.Float(52.5),
					Uncertainty: find.Int(5), Method: &find.Term{Code: "phone"}},
				Depth: &find.Depth{Quantity: find.Quantity{Min: find.Float(20.32), Max: find.Float(20.32), Unit: "cm",
					Said: "in", Verbatim: `8"`}}},
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", Name: "jetton", Columns: map[string]string{"Mood": "good"},
				Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.6)}},
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a13", Name: "no place"},
		}}
}

func TestRefusals(t *testing.T) {
	for name, c := range map[string]struct{ text, code string }{
		"entity bomb": {`<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><gpx><wpt lat="1" lon="2"><name>&b;</name>` +
			`</wpt></gpx>`, "gpx-doctype"},
		"other xml": {`<kml/>`, "not-gpx"},
		"cut short": {`<gpx><wpt lat="1" lon="2">`, "gpx-cut-short"},
		"not xml":   {`no xml at all`, "gpx-cut-short"},
		"two roots": {`<gpx/><gpx/>`, "gpx-syntax"},
		"wrong end": {`<gpx><wpt lat="1" lon="2"></gpx>`, "gpx-syntax"},
		"not utf-8": {`<?xml version="1.0" encoding="ISO-8859-1"?><gpx/>`, "gpx-encoding"},
		"too large": {`<gpx><wpt lat="1" lon="2"><name>` + strings.Repeat("a", 2<<20) + `</name></wpt></gpx>`,
			"gpx-too-large"},
		"report": {`<gpx><metadata><extensions><report>{"findslip</report></extensions></metadata></gpx>`, "gpx-report"},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Decode(strings.NewReader(c.text), Options{})
			if err == nil {
				_, _, err = find.Collect(s)
			}
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
	f.Add([]byte(`<gpx><wpt lat="52.5" lon="-1.2"><ele>100</ele><time>2026-03-25T14:30:00Z</time><name>Flag</name>` +
		`<cmt>8 in</cmt><desc>bell</desc><sym>Flag</sym></wpt></gpx>`))
	f.Add([]byte(`<gpx xmlns:fs="` + namespace +
		`"><wpt lat="52.5" lon="-1.2"><extensions><fs:field name="materials.2.code">lead</fs:field></extensions></wpt>` +
		`</gpx>`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := decode(data)
		if err != nil {
			return
		}
		var once, twice bytes.Buffer
		if err := Encode(&once, find.StreamOf(r)); err != nil {
			t.Fatalf("cannot write what was read: %v", err)
		}
		again, err := decode(once.Bytes())
		if err != nil {
			t.Fatalf("cannot read what was written: %v\n%s", err, once.Bytes())
		}
		placed := 0 // a find without a spot is no waypoint, and counts as lost
		for _, f := range r.Finds {
			if p := f.Position; p != nil && p.Longitude.Known() && p.Latitude.Known() {
				placed++
			}
		}
		if len(again.Finds) != placed {
			t.Fatalf("%d finds with a spot became %d", placed, len(again.Finds))
		}
		if err := Encode(&twice, find.StreamOf(again)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(once.Bytes(), twice.Bytes()) {
			t.Fatalf("written twice is not written once:\n%s\n%s", once.Bytes(), twice.Bytes())
		}
	})
}

func decode(data []byte) (*find.Report, error) {
	s, err := Decode(bytes.NewReader(data), Options{})
	if err != nil {
		return nil, err
	}
	r, _, err := find.Collect(s)
	return r, err
}

// What others say of a file is kept: name and words in the title, author among the people, the rest a note (GPX 1.1,
// metadataType).
func TestMetadataOfOthersIsKept(t *testing.T) {
	const text = `<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><metadata><name>Long Furlong</name>
<desc>spring
walk</desc><author><name>finder-a</name></author><copyright author="x"><license>not to be published</license></copyright>
<keywords>ring, private</keywords></metadata><wpt lat="52.5" lon="-1.2"><name>1</name></wpt></gpx>`
	s, err := Decode(strings.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r := s.Report; r.Title != "Long Furlong: spring walk" || len(r.People) != 1 || r.People[0].Name != "finder-a" ||
		strings.Join(r.Notes, "|") != "ring, private not to be published" {
		t.Errorf("%+v", s.Report)
	}
}

// Number and words of each waypoint are told apart by themselves, and a description of materials and measures names
// nothing; a part ends at a full stop before a label. The words are of logs that outside eyes made.
func TestEachNameByItself(t *testing.T) {
	for text, want := range cases.Table[map[string][4]string](t, "EachNameByItself") {
		name, words, _ := strings.Cut(text, "|")
		in := `<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="52.5" lon="-1.2"><name>` + name +
			`</name><desc>` + words + `</desc></wpt></gpx>`
		s, err := Decode(strings.NewReader(in), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for e, err := range s.Entries {
			got := [4]string{e.Find.Number, e.Find.Name}
			if e.Find.Materials != nil {
				got[2] = e.Find.Materials[0].Verbatim
			}
			if e.Find.Depth != nil {
				got[3] = e.Find.Depth.Verbatim
			}
			if err != nil || got != want {
				t.Errorf("%s: %q, %v, want %q", text, got, err, want)
			}
		}
	}
}
