package pipeline_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
)

// season logs of one keeper: numbers begin again, people and land are the same but for their order.
const (
	log2024 = "No,Date,Field,Finder,Find,Depth (cm),Kept by\n1,2024-04-13,Long Furlong,finder-a,crotal bell,12,\n2,2024-04-14,Chapel Piece,finder-b,cloth seal,9,\n"
	log2025 = "No,Date,Field,Finder,Find,Depth (cm)\n1,2025-04-13,Chapel Piece,finder-b,jetton,15\n2,2025-04-14,Long Furlong,finder-c,thimble,7\n"
)

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// together reads what names stand for as one log.
func together(t *testing.T, names ...string) (*find.Report, *pipeline.Result, []string) {
	t.Helper()
	logs, passed, err := pipeline.Logs(t.Context(), names, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in, err := pipeline.OpenLogs(t.Context(), logs, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	var out bytes.Buffer
	r, err := in.Convert(t.Context(), &out, pipeline.Options{To: pipeline.Findslip})
	if err != nil {
		t.Fatal(err)
	}
	report := new(find.Report)
	if err := json.Unmarshal(out.Bytes(), report); err != nil {
		t.Fatal(err)
	}
	return report, r, passed
}

func codes(r *pipeline.Result) (out []string) {
	for _, n := range r.Notices {
		out = append(out, n.Kind.Code)
	}
	return out
}

func TestSeveralLogs(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "2024.csv"), filepath.Join(dir, "2025.csv")
	write(t, one, log2024)
	write(t, two, log2025)
	r, result, _ := together(t, one, two)
	if len(r.Finds) != 4 || len(r.People) != 3 || len(r.Permissions) != 2 {
		t.Fatalf("%d finds, %d people, %d permissions; want 4, 3, 2", len(r.Finds), len(r.People), len(r.Permissions))
	}
	alone, _, _ := together(t, two)
	for i, f := range alone.Finds {
		if got := r.Finds[i+2]; got.ID != f.ID {
			t.Errorf("find %d of the second log has another id than by itself", i)
		}
	}
	name := func(f *find.Find) string {
		return r.Permission(f.Permission).Place.Name + "/" + r.Person(f.Finder).Handle
	}
	want := []string{"Long Furlong/finder-a", "Chapel Piece/finder-b", "Chapel Piece/finder-b", "Long Furlong/finder-c"}
	for i, f := range r.Finds {
		if name(f) != want[i] {
			t.Errorf("find %d is of %s, not of %s", i, name(f), want[i])
		}
		if f.Source == nil || f.Source.File != []string{"2024.csv", "2025.csv"}[i/2] || f.Source.Row.String() != []string{"2",
			"3"}[i%2] {
			t.Errorf("find %d: source %+v", i, f.Source)
		}
	}
	if got := codes(result); slices.Contains(got, "number-repeated") || slices.Contains(got, "id-repeated") ||
		!slices.Contains(got, "logs-read-as-one") {
		t.Errorf("notices %v", got)
	}
	again, _, _ := together(t, one, two)
	if again.ID != r.ID || r.IDBasis != "file-name" {
		t.Error("the id of the report is not the same each time")
	}
}

func TestFolderOfLogs(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"10.csv": log2025, "2.csv": log2024, "old/a.csv": "No,Find\n7,button\n",
		"readme.txt": "Keep this folder.\n", "plan.json": `{"columnMap": "1.0"}`, "x.findslip-settings.json": "{}",
		"findslip.register.jsonl": "{}", ".hidden.csv": "No,Find\n8,pin\n", "photo.jpg": "\xff\xd8\xff",
		"given/bagit.txt": "BagIt-Version: 1.0\n", "given/data/report.csv": "No,Find\n9,pin\n"} {
		write(t, filepath.Join(dir, name), text)
	}
	r, _, passed := together(t, dir)
	var from []string
	for _, f := range r.Finds {
		from = append(from, f.Source.File)
	}
	if want := []string{"2.csv", "2.csv", "10.csv", "10.csv", "old/a.csv"}; !slices.Equal(from, want) {
		t.Errorf("finds are of %v, want %v", from, want)
	}
	if len(passed) != 6 {
		t.Errorf("passed over: %v", passed)
	}
}

func TestZipOfLogs(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{"club/2024.csv": log2024, "club/2025.csv": log2025} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "club.zip")
	write(t, name, b.String())
	r, _, _ := together(t, name)
	if len(r.Finds) != 4 || r.Finds[3].Source.File != "club/2025.csv" {
		t.Errorf("%d finds", len(r.Finds))
	}
}

// TestEqualFindIsOne: a copy of a log beside it doubles nothing; where the two differ, both are kept and asked about.
func TestEqualFindIsOne(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "season.csv"), log2024)
	in, err := pipeline.Open(t.Context(), filepath.Join(dir, "season.csv"), pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if _, err := in.Convert(t.Context(), &out, pipeline.Options{To: pipeline.Findslip}); err != nil {
		t.Fatal(err)
	}
	if err := in.Close(); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(dir, "season.findslip.json")
	write(t, copied, out.String())
	r, result, _ := together(t, dir)
	if len(r.Finds) != 2 || !slices.Contains(codes(result), "find-in-two-logs") {
		t.Errorf("%d finds, %v", len(r.Finds), codes(result))
	}
	write(t, copied, strings.Replace(out.String(), "cloth seal", "lead seal", 1))
	r, result, _ = together(t, dir)
	if len(r.Finds) != 3 || !slices.Contains(codes(result), "id-repeated") && !slices.Contains(codes(result),
		"number-repeated") {
		t.Errorf("%d finds, %v", len(r.Finds), codes(result))
	}
}

func TestCopiesAreNotJoined(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "a.findslip.json"),
		`{"findslip": "1.0", "audience": "public", "finds": [{"id": "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "number": "1", "name": "x"}]}`)
	write(t, filepath.Join(dir, "b.csv"), log2024)
	logs, _, err := pipeline.Logs(t.Context(), []string{dir}, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := pipeline.OpenLogs(t.Context(), logs, pipeline.Options{}); err == nil || !strings.Contains(err.Error(),
		"for public") {
		t.Errorf("a copy and a log became one: %v", err)
	}
}
