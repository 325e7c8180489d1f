package pipeline

import (
	"context"
	"io/fs"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/testkit/heavy"
	"github.com/findslip/findslip/pkg/validate"
)

// A profile that asks and names words changes nothing of what the rules say: the logs of the exam draw the same
// notices with it and without, but for what it asks itself.
func TestExamHoldsUnderAProfile(t *testing.T) {
	heavy.Test(t)
	const asks = `{"findslipProfile": "1", "id": "it", "version": "1", "title": {"en": "it"},
 "asks": [{"name": "weight", "strength": "must", "ask": {"any": ["/weight"]}},
  {"name": "value", "strength": "never", "ask": {"any": ["/value"]}}],
 "terms": [{"member": "/materials", "words": {"glimmerish": "silver"}}], "headings": {"Pouchling": "number"}}`
	e, list, err := validate.LoadProfile("it", func(string) ([]byte, error) { return []byte(asks), nil })
	if e == nil || err != nil {
		t.Fatal(list, err)
	}
	for _, archive := range []string{"honest.zip", "faults.zip"} {
		files := examFile(t, archive)
		var logs []string
		_ = fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
			if FormatOfName(name) != "" && !strings.HasSuffix(name, ".json") && !strings.HasSuffix(name, ".jsonl") {
				logs = append(logs, name)
			}
			return err
		})
		if len(logs) < 10 {
			t.Fatalf("%s has %d logs", archive, len(logs))
		}
		for _, name := range logs {
			without, with := codesUnder(t, files, name, nil), codesUnder(t, files, name, []*profile.Effective{e})
			if d := cmp.Diff(without, with); d != "" {
				t.Errorf("%s: %s", name, d)
			}
		}
	}
}

// codesUnder are the notices on a log but for what is asked for.
func codesUnder(t *testing.T, files fs.FS, name string, list []*profile.Effective) (out []string) {
	t.Helper()
	o := Options{FS: files, Profiles: list}
	o.Read.AsOf = edtf.Day{Year: 2026, Month: 11, Day: 29}
	r, err := Check(context.Background(), name, o)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for i := range r.Notices {
		if n := &r.Notices[i]; n.Kind != validate.LevelIncomplete {
			out = append(out, n.Kind.Code+" "+n.Place())
		}
	}
	return out
}
