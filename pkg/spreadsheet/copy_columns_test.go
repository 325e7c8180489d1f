package spreadsheet

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestCopyColumnsAreGuarded writes a copy whose report says of itself what a spreadsheet would run,
// and what no text table holds.
func TestCopyColumnsAreGuarded(t *testing.T) {
	for audience, want := range map[string]string{"public": ",public,", "=1+1": ",'=1+1,", "a\x00b": ",a␀b,"} {
		r := &find.Report{Findslip: find.Version, ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", Audience: audience,
			Changed: "2026-04-12T00:00:00Z",
			Finds:   []*find.Find{{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101", Number: "1", Name: "thimble"}}}
		var b strings.Builder
		if err := EncodeCSV(&b, find.StreamOf(r), WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), want) || strings.Contains(b.String(), "\x00") {
			t.Errorf("%q: %q is not in\n%s", audience, want, b.String())
		}
		in, err := DecodeCSV(strings.NewReader(b.String()), Options{File: "copy.csv"})
		if err != nil {
			t.Fatalf("%q: %v", audience, err)
		}
		for range in.Entries {
		}
		if kept := audience == "public"; (in.Report.Audience == audience) != kept {
			t.Errorf("%q comes back as %q", audience, in.Report.Audience)
		}
	}
}
