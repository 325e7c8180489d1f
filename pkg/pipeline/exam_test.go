package pipeline

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/testkit/heavy"
	"github.com/findslip/findslip/pkg/validate"
)

// examFile opens one archive of testdata/exam (see the README there: logs by people who had not seen the rules).
func examFile(t *testing.T, name string) fs.FS {
	t.Helper()
	z, err := zip.OpenReader(filepath.Join("..", "..", "testdata", "exam", name))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { z.Close() })
	return z
}

// examined checks one log of an archive as of the day on which the exam was written.
func examined(t *testing.T, files fs.FS, name string) *Result {
	t.Helper()
	day, err := edtf.ParseDay("2026-11-29")
	if err != nil {
		t.Fatal(err)
	}
	o := Options{FS: files, Level: "log"}
	o.Read.AsOf = day
	r, err := Check(context.Background(), name, o)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return r
}

// An entry is a fault, or a harmless look-alike, of one cell or several.
type examEntry struct {
	File     string `json:"file"`
	Cell     string `json:"cell"`
	Also     string `json:"also right to point at"`
	Hesitate bool   `json:"a human may hesitate"`
	Kind     string `json:"kind"`
}

func examEntries(t *testing.T, files fs.FS, name string) (all []examEntry) {
	t.Helper()
	raw, err := fs.ReadFile(files, name)
	if err != nil {
		t.Fatal(err)
	}
	for lines := bufio.NewScanner(bytes.NewReader(raw)); lines.Scan(); {
		var e examEntry
		if err := json.Unmarshal(lines.Bytes(), &e); err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

// cells are the places that an entry names, as a notice names them.
func (e examEntry) cells() (all []string) {
	for _, place := range strings.Split(e.Cell+", "+e.Also, ", ") {
		if _, cell, ok := strings.Cut(place, "!"); ok {
			place = cell
		}
		if place != "" {
			all = append(all, place)
		}
	}
	return all
}

// Honest logs: every find and none but those, nothing called wrong, no caution, few words.
func TestExamHonest(t *testing.T) {
	files := examFile(t, "honest.zip")
	truths, err := fs.Glob(files, "honest/*.truth.json")
	if err != nil || len(truths) != 40 {
		t.Fatalf("%d truths, %v", len(truths), err)
	}
	finds, said, all := 0, 0, 0
	for _, truth := range truths {
		raw, err := fs.ReadFile(files, truth)
		if err != nil {
			t.Fatal(err)
		}
		var want struct{ Finds []json.RawMessage }
		if err := json.Unmarshal(raw, &want); err != nil {
			t.Fatal(err)
		}
		logs, err := fs.Glob(files, strings.TrimSuffix(truth, "truth.json")+"[cgox]*")
		if err != nil || len(logs) != 1 {
			t.Fatalf("%s: %v, %v", truth, logs, err)
		}
		r := examined(t, files, logs[0])
		if r.Summary.Finds != len(want.Finds) {
			t.Errorf("%s: %d finds, want %d", logs[0], r.Summary.Finds, len(want.Finds))
		}
		for i := range r.Notices {
			k := r.Notices[i].Kind
			if k.Code != "level-incomplete" && !k.Reading() { // which are told as lines of their own
				all++
			}
			if n := &r.Notices[i]; n.Kind.Severity == notice.Error || n.Kind.Caution {
				t.Errorf("%s: %s: %s [%s]", logs[0], n.Place(), n.Message, n.Kind.Code)
			}
		}
		finds += r.Summary.Finds
		said += r.Notices.Count(notice.Warning)
	}
	t.Logf("%d finds, %d warnings, %d notices of any sort", finds, said, all)
	if 10*all > 3*finds {
		t.Errorf("%d notices on %d honest finds", all, finds)
	}
	if said*5 > finds {
		t.Errorf("%d warnings on %d honest finds", said, finds)
	}
}

// Seeded faults are told at their cell; harmless look-alikes draw no caution.
func TestExamFaults(t *testing.T) {
	found, all := 0, 0
	for _, archive := range [...]string{"faults.zip", "faults2.zip", "faults3.zip", "faults4.zip", "faults5.zip",
		"faults6.zip"} {
		files := examFile(t, archive)
		in, of := examinedFaults(t, files)
		t.Logf("%s: %d of %d faults", archive, in, of)
		found, all = found+in, all+of
	}
	if found*100 < all*90 {
		t.Errorf("%d of %d faults are told at their cell", found, all)
	}
}

// examinedFaults returns how many faults of an archive are told, and of how many.
func examinedFaults(t *testing.T, files fs.FS) (found, all int) {
	results := map[string]*Result{}
	for _, e := range examEntries(t, files, "faults.jsonl") {
		if e.Hesitate {
			continue
		}
		if results[e.File] == nil {
			results[e.File] = examined(t, files, "faults/"+e.File)
		}
		all++
		cells := e.cells()
		if slices.ContainsFunc(results[e.File].Notices, func(n notice.Notice) bool {
			return (n.Kind.Severity != notice.Info || n.Kind.Caution) && slices.Contains(cells, n.Cell)
		}) {
			found++
		} else {
			t.Logf("not told: %s %s (%s)", e.File, e.Cell, e.Kind)
		}
	}
	return found, all
}

func TestExamLookalikes(t *testing.T) {
	seen := map[string]bool{}
	for _, archive := range [...]string{"lookalikes.zip", "lookalikes2.zip", "lookalikes3.zip", "lookalikes4.zip",
		"lookalikes5.zip", "lookalikes6.zip"} {
		files := examFile(t, archive)
		for _, e := range examEntries(t, files, "lookalikes.jsonl") {
			if seen[e.File] {
				continue
			}
			seen[e.File] = true
			r := examined(t, files, "lookalikes/"+e.File)
			for i := range r.Notices {
				if n := &r.Notices[i]; n.Kind.Caution && n.Kind.Severity != notice.Info {
					t.Errorf("%s: %s: %s [%s]", e.File, n.Place(), n.Message, n.Kind.Code)
				}
			}
		}
	}
	if len(seen) != 43+19+4+5+5+29 {
		t.Errorf("%d files", len(seen))
	}
}

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
	for _, archive := range []string{"honest.zip", "faults.zip", "faults2.zip", "lookalikes.zip", "lookalikes2.zip"} {
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

// A report that is an example of how to do it draws no error, no warning and no caution.
func TestValidReportsAreClean(t *testing.T) {
	files, err := filepath.Glob("../../testdata/valid/*.json")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, name := range files {
		o := Options{Read: normalise.Options{AsOf: edtf.Day{Year: 2026, Month: 4, Day: 20}}}
		if filepath.Base(name) == "minimal.findslip.json" {
			o.Level = validate.NoLevel
		}
		r, err := Check(context.Background(), name, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range r.Notices {
			if n.Kind.Caution || n.Kind.Severity != notice.Info {
				t.Errorf("%s: %s %s: %s", filepath.Base(name), n.Place(), n.Kind.Code, n.Message)
			}
		}
	}
}
