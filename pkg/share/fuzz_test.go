package share

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

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
	f.Add([]byte(`{"findslip":"1.0","people":[{"id":"person-1","name":"Hilda","contact":"hilda"}],"finds":[{"number":"1","finder":"person-1","position":{"longitude":-1.23456,"latitude":52.12345},"notes":"52.12345"}]}`))
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
			leaks, err := Leaks(t.Context(), b.Bytes(), source, c.Report, a, limit.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			if a != Public || len(leaks) > 0 {
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

// FuzzReadLog: a log that is read is written and read the same.
func FuzzReadLog(f *testing.F) {
	f.Add([]byte(`{"day":"2026-04-12","audience":"public","finds":[{"id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","position":"grid-0.1","latitude":52.05,"longitude":-1.25,"date":"2026-04"}]}` + "\n"))
	f.Add([]byte("{}\n\n{\"finds\":null}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := ReadLog(bytes.NewReader(data), limit.Limits{})
		if err != nil {
			return
		}
		var b bytes.Buffer
		for _, e := range list {
			if err := e.Append(&b); err != nil {
				t.Fatal(err)
			}
		}
		back, err := ReadLog(bytes.NewReader(b.Bytes()), limit.Limits{})
		if err != nil || len(back) != len(list) {
			t.Fatalf("%d entries came back as %d: %v", len(list), len(back), err)
		}
		for i := range list {
			_ = Narrowings(list[:i], list[i])
		}
	})
}
