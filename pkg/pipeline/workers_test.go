package pipeline

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// reportFiles returns every report of testdata and examples; those of testdata/codes are written to a
// folder of the test.
func reportFiles(t *testing.T) []string {
	t.Helper()
	var files []string
	for _, pattern := range []string{"../../testdata/workbooks/*", "../../examples/thornmere/*"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if _, err := formatOf(name, nil); err == nil {
				files = append(files, name)
			}
		}
	}
	reports, err := cases.Reports(os.DirFS("../.."))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for i, raw := range reports {
		files = append(files, filepath.Join(dir, fmt.Sprintf("%d.findslip.json", i)))
		if err := os.WriteFile(files[len(files)-1], raw, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if len(files) < 200 {
		t.Fatalf("only %d reports", len(files))
	}
	return files
}

// told is everything that a run says and writes.
func told(r *Result, err error, out []byte) string {
	if err != nil {
		return "error: " + err.Error()
	}
	b, _ := json.Marshal(map[string]any{"notices": r.Notices, "accepted": r.Accepted, "summary": r.Summary,
		"lost": r.Lost})
	return string(b) + "\n" + string(out)
}

// However many finds are worked on at the same time, and whether the schema engine is asked about all
// of them or only where the quick program does not say yes: every byte is the same.
func TestWorkersSayTheSame(t *testing.T) {
	ctx := context.Background()
	o := Options{Level: "full", Read: normalise.Options{AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}}}
	for i, file := range reportFiles(t) {
		if i%heavy.Some(40, 5) != 0 {
			continue // most reports of testdata are of one find, which one worker gets
		}
		lines := filepath.Join(t.TempDir(), "lines.jsonl")
		var asLines bytes.Buffer
		if _, err := Convert(ctx, file, &asLines, Options{To: JSONL, Workers: 1}); err == nil {
			if err := os.WriteFile(lines, asLines.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		} else {
			lines = file
		}
		for _, name := range []string{file, lines} {
			run := func(workers int, slow bool, to Format) string {
				o := o
				o.Workers, o.Slow, o.To = workers, slow, to
				if to == "" {
					r, err := Check(ctx, name, o)
					return told(r, err, nil)
				}
				var out bytes.Buffer
				r, err := Convert(ctx, name, &out, o)
				return told(r, err, out.Bytes())
			}
			for _, to := range []Format{"", GeoJSON, CSV, JSONL} {
				want := run(1, true, to)
				if d := cmp.Diff(want, run(1, false, to)); d != "" {
					t.Fatalf("%s to %q: the quick program says something else (-engine +quick):\n%s", name, to, d)
				}
				if d := cmp.Diff(want, run(3, false, to)); d != "" {
					t.Fatalf("%s to %q: three workers say something else (-one +three):\n%s", name, to, d)
				}
			}
		}
	}
}

func TestLines(t *testing.T) {
	l, err := newLines(strings.NewReader(`{
  "findslip": "1.0",
  "people": [
    {"id": "person-1",
     "handle": "a"}
  ],
  "finds": [
    {
      "id": "a",
      "depth": {
        "verbatim": "8"
      },
      "materials": [{"code": "lead"},
        {"code": "iron"}]
    },
    {"id": "b", "finds": [1, {"x": 2}]}, {"id": "c",
     "name": "bell"}
  ],
  "title": "x"
}`))
	if err != nil {
		t.Fatal(err)
	}
	for pointer, want := range map[string]int{"": 1, "/findslip": 2, "/people/0": 4, "/people/0/handle": 5,
		"/people/0/missing": 4, "/finds": 7, "/finds/0": 8, "/finds/0/id": 9,
		"/finds/0/depth": 10, "/finds/0/depth/verbatim": 11, "/finds/0/depth/unit": 10, "/finds/0/materials/1/code": 14,
		"/finds/0/mat": 8, "/finds/1/id": 16, "/finds/1/finds/1/x": 16,
		"/finds/2": 16, "/finds/2/name": 17, "/finds/9": 7, "/title": 19, "/nothing/there": 1} {
		if got := l.at(pointer); got != want {
			t.Errorf("%s is on line %d, not %d", pointer, got, want)
		}
	}
	if _, err := newLines(strings.NewReader(`{"a": [`)); err == nil {
		t.Error("half a report has lines")
	}
}
