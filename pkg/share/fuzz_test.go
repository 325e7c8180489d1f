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
