package pipeline

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
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
