package share

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/geojson"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// randomReport makes a report full of things that must not leak.
func randomReport(r *rand.Rand) *find.Report {
	rep := &find.Report{Findslip: "1.0", ID: find.NewReportID(), Title: "Kestrelfield log",
		People: []find.Person{{ID: "person-1", Name: "Hilda Whitethorn", Handle: "finder-a",
			Contact: "hilda@thornmere.example"}, {ID: "person-2", Name: "Old Barnaby", Handle: "barnaby7"}},
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong", Parish: "Thornmere"},
			GrantedBy: "person-2"},
			{ID: "permission-2", Place: &find.Place{Name: "Chapel Piece"}}}}
	lat, lon := r.Float64()*100-50, r.Float64()*300-150
	for i := range 12 {
		la, lo := coordinate.Round7(lat+r.Float64()*0.02), coordinate.Round7(lon+r.Float64()*0.02)
		f := &find.Find{ID: find.FindID(rep.ID, fmt.Sprint(i)), Number: fmt.Sprintf("SF-%03d", i), Name: "button",
			Finder: "person-1", Permission: fmt.Sprintf("permission-%d", 1+i%2),
			Found: &find.Found{Date: "2026-04-12", Time: "14:30", Verbatim: "Sunday at Long Furlong"},
			Place: &find.Place{Name: "Long Furlong", Parish: "Thornmere", Region: "Midshire", Country: "GB",
				Verbatim: "behind the barn"},
			Position: &find.Position{Latitude: find.Float(la), Longitude: find.Float(lo), Uncertainty: find.Int(5),
				Verbatim: fmt.Sprintf("%.6f, %.6f", la, lo), Method: &find.Term{Code: "phone", Verbatim: "my phone"}},
			Depth: &find.Depth{Quantity: find.Quantity{Min: find.Int(20), Max: find.Int(20), Unit: "cm",
				Verbatim: "20 cm near the gate of Long Furlong"}, Basis: &find.Term{Code: "tape-measured"}},
			Materials:      []find.Material{{Term: find.Term{Code: "lead", Verbatim: "lead, like at Chapel Piece"}}},
			Identification: &find.Identification{Certainty: "probable", By: "person-1"},
			Notes:          "call Hilda Whitethorn, barn at Long Furlong", StoragePlace: "tin in the loft",
			Value: "about 40 pounds", Columns: map[string]string{"Where": "Long Furlong"},
			Sensitivity: []string{"", "open", "coarse", "restricted", "closed", "odd"}[i%6],
			Source:      &find.Source{File: "/Users/hilda/kestrel.xlsx"}, Extensions: []byte(`{"x-where":"Long Furlong"}`),
			Unknown: []byte(`{"spot":"Long Furlong"}`)}
		rep.Finds = append(rep.Finds, f)
	}
	return rep
}

// fourDecimals returns a number cut after its fourth decimal, empty if it has fewer.
func fourDecimals(n find.Number) string {
	whole, decimals, ok := strings.Cut(strings.TrimPrefix(n.String(), "-"), ".")
	if !ok || len(decimals) < 4 {
		return ""
	}
	return whole + "." + decimals[:4]
}

func encodings(t *testing.T, r *find.Report) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for name, encode := range map[string]func(*bytes.Buffer) error{
		"json":    func(b *bytes.Buffer) error { return find.EncodeJSON(b, find.StreamOf(r)) },
		"jsonl":   func(b *bytes.Buffer) error { return find.EncodeJSONL(b, find.StreamOf(r)) },
		"geojson": func(b *bytes.Buffer) error { return geojson.Encode(b, find.StreamOf(r), geojson.Options{}) },
	} {
		var b bytes.Buffer
		if err := encode(&b); err != nil {
			t.Fatal(err)
		}
		out[name] = b.Bytes()
	}
	return out
}

func FuzzLeaks(f *testing.F) {
	source := randomReport(rand.New(rand.NewPCG(9, 9)))
	c, err := Copy(f.Context(), source, Options{Audience: Public})
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte("SP 5270 9011, 52.5 N"))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _ = Leaks(t.Context(), data, source, c, Public, limit.Limits{})
	})
}

// Neighbours in the source are not neighbours in a public copy: over many exports a find stands
// beside one of its two neighbours as often as chance has it, 4 of 9 for ten finds in any order.
func TestOrderIsBroken(t *testing.T) {
	source := &find.Report{Findslip: "1.0", ID: find.NewReportID()}
	for i := range 10 {
		source.Finds = append(source.Finds, &find.Find{ID: find.FindID(source.ID, fmt.Sprint(i)), Number: fmt.Sprint(i + 1),
			Name: "button", Found: &find.Found{Date: fmt.Sprintf("2026-04-%02d", i+1)},
			Sensitivity: []string{"coarse", "restricted"}[i%2]})
	}
	runs := float64(heavy.Some(1000, 3000))
	beside := 0
	for range int(runs) {
		c, err := Copy(t.Context(), source, Options{Audience: Public})
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]int{}
		for i, f := range c.Report.Finds {
			at[c.Back[f.ID]] = i
			if f.Number != fmt.Sprint(i+1) || f.Found.Date != "2026-04/2026-06" {
				t.Fatalf("find %d has the number %s and the day %s", i, f.Number, f.Found.Date)
			}
		}
		for _, j := range []int{4, 6} {
			if d := at[source.Finds[5].ID] - at[source.Finds[j].ID]; d == 1 || d == -1 {
				beside++
			}
		}
	}
	// Two pairs, each beside one another in 2 of 10 orders; five times the deviation of chance.
	want, slack := 0.4*runs, 5*math.Sqrt(runs*2*0.2*0.8)
	if math.Abs(float64(beside)-want) > slack {
		t.Errorf("neighbours stand together %d times in %d, by chance %.0f", beside, int(runs), want)
	}
}

func TestNotesAreOfferedBack(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(21, 22)))
	source.Finds[0].Notes = "still has its pea"
	c, err := Copy(t.Context(), source, Options{Audience: Public, Notes: true})
	if err != nil {
		t.Fatal(err)
	}
	kept := 0
	for _, f := range c.Report.Finds {
		if f.Notes != "" {
			kept++
			if f.Notes != "still has its pea" || f.Absent["/notes"] != "" {
				t.Errorf("notes %q, absent %v", f.Notes, f.Absent)
			}
		}
	}
	named := slices.ContainsFunc(c.Doubts, func(d Doubt) bool {
		return d.Member == "finds.notes" && d.Find == "SF-001" && slices.Contains(d.Words, "call Hilda Whitethorn")
	})
	if kept != 1 || !named {
		t.Errorf("%d notes are kept, left out are %v", kept, c.Doubts)
	}
}

// Two bags of one number have one id until that is mended (number-repeated): each copy is of its own
// find, nothing of one goes to the other, and the one is no leak of the other.
func TestFindsOfOneID(t *testing.T) {
	id := find.FindID("urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "6")
	source := &find.Report{Findslip: find.Version, ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Permissions: []find.Permission{{ID: "permission-1"}, {ID: "permission-2"}},
		Finds: []*find.Find{
			{ID: id, Number: "6", Name: "cloth seal", Permission: "permission-1",
				Position: &find.Position{Verbatim: "by the oak near the gate"}, Notes: "rolled edge"},
			{ID: id, Number: "6", Name: "spindle whorl", Permission: "permission-2", Notes: "chalk line on it",
				Description: "turned"},
		}}
	for _, a := range []Audience{Partner, Recorder, Landowner, Expert, Public} {
		c, err := Copy(t.Context(), source, Options{Audience: a, Permissions: []string{"permission-1"}, Notes: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.Report.Finds {
			want := map[string]string{"cloth seal": "rolled edge", "spindle whorl": "chalk line on it"}[f.Name]
			if f.Notes != want {
				t.Errorf("%s: the %s has the notes %q, want %q", a, f.Name, f.Notes, want)
			}
		}
		if a == Public || a == Expert {
			continue
		}
		data, err := json.Marshal(map[string]any{"finds": c.Report.Finds})
		if err != nil {
			t.Fatal(err)
		}
		if leaks := leaksOf(t, data, source, c, a); len(leaks) > 0 {
			t.Errorf("%s: %v", a, leaks)
		}
	}
	copied := clone(source)
	copied.Finds = []*find.Find{clone(source.Finds[0]), clone(source.Finds[1])}
	if !held(t, &Copied{Report: copied}, []Span{{Pointer: "/description", at: 2}}) || copied.Finds[1].Description != "" ||
		copied.Finds[0].Absent != nil {
		t.Error("what leaks in the second is held back in another")
	}
}

// FuzzCopy: of any report a copy for any audience can be made, and for the public it holds no digits
// of a position, no name and no contact, whatever the leak check says.
func FuzzCopy(f *testing.F) {
	for _, name := range []string{"full", "typical", "minimal"} {
		raw, err := os.ReadFile("../../testdata/valid/" + name + ".findslip.json")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	f.Add([]byte(`{"findslip":"1.0","people":[{"id":"person-1","name":"Hilda","contact":"hilda"}],` +
		`"finds":[{"number":"1","finder":"person-1","position":{"longitude":-1.23456,"latitude":52.12345},` +
		`"notes":"52.12345"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := find.DecodeJSON(bytes.NewReader(data), find.Options{})
		if err != nil {
			return
		}
		source, _, err := find.Collect(s)
		if err != nil {
			return
		}
		for _, a := range Audiences() {
			c, err := Copy(t.Context(), source, Options{Audience: a})
			if err != nil {
				continue
			}
			var b bytes.Buffer
			if err := find.EncodeJSON(&b, find.StreamOf(c.Report)); err != nil {
				t.Fatal(err)
			}
			looked, err := Leaks(t.Context(), b.Bytes(), source, c, a, limit.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			if a != Public || len(looked.Leaks) > 0 {
				continue // what leaks is not written
			}
			for _, x := range source.Finds {
				if x.Position == nil {
					continue
				}
				for _, n := range []find.Number{x.Position.Latitude, x.Position.Longitude} {
					if d := fourDecimals(n); d != "" && strings.Contains(b.String(), d) {
						t.Fatalf("a public copy holds the digits %s of a position:\n%s", d, b.String())
					}
				}
			}
		}
	})
}
