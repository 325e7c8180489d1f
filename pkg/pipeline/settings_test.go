package pipeline_test

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

const openLog = "No,Date,Find,Depth,Width (cm),Grid\n1,3/4/2024,crotal bell,8,2,SP 5270 9011\n2,5/4/2024,cloth seal," +
	"6 cm,1,SP 5271 9012\n"

// keeps writes a log and settings for it, after edit has changed them, and returns the folder.
func keeps(t *testing.T, edit func(*spreadsheet.Settings)) string {
	t.Helper()
	dir := t.TempDir()
	log := filepath.Join(dir, "season.csv")
	write(t, log, openLog)
	s, err := pipeline.NewSettings(t.Context(), log, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s.DateOrder, s.Unit = "dmy", "in"
	s.Defaults = map[string]string{"finder": "finder-a", "place.country": "GB", "depth.basis": "tape-measured"}
	if edit != nil {
		edit(s)
	}
	var b bytes.Buffer
	if err := s.Write(&b); err != nil {
		t.Fatal(err)
	}
	write(t, pipeline.SettingsName(log), b.String())
	return dir
}

// readBeside converts what stands in a folder with the settings beside it, and returns what was said of them.
func readBeside(t *testing.T, b *pipeline.Beside, names ...string) (*find.Report, string, error) {
	t.Helper()
	var said []string
	b.Say = func(text string) { said = append(said, text) }
	o := pipeline.Options{Beside: b, To: pipeline.Findslip}
	logs, _, err := pipeline.Logs(t.Context(), names, o)
	if err != nil {
		t.Fatal(err)
	}
	in, err := pipeline.OpenLogs(t.Context(), logs, o)
	if err != nil {
		return nil, "", err
	}
	defer in.Close()
	var out bytes.Buffer
	if _, err := in.Convert(t.Context(), &out, o); err != nil {
		t.Fatal(err)
	}
	r := new(find.Report)
	if err := json.Unmarshal(out.Bytes(), r); err != nil {
		t.Fatal(err)
	}
	return r, strings.Join(said, "\n"), nil
}

func TestSettingsBesideTheLog(t *testing.T) {
	dir := keeps(t, nil)
	r, said, err := readBeside(t, &pipeline.Beside{}, filepath.Join(dir, "season.csv"))
	if err != nil {
		t.Fatal(err)
	}
	one, two := r.Finds[0], r.Finds[1]
	for _, pointer := range []string{"/depth", "/finder", "/found", "/place/country", "/depth/basis"} {
		if one.Supplied[pointer] != find.StatedForFile {
			t.Errorf("%s of the first find does not say that it was stated for the file", pointer)
		}
	}
	if one.Found.Date != "2024-04-03" || one.Depth.Said != "in" || one.Place.Country != "GB" ||
		r.Person(one.Finder).Handle != "finder-a" {
		t.Errorf("read %+v", one)
	}
	if two.Depth.Said != "cm" || two.Supplied["/depth"] != "" || one.Supplied["/dimensions/width"] != "" {
		t.Error("the unit of a cell or a heading did not win over that of the settings")
	}
	if strings.Count(said, "season.findslip-settings.json") != 1 {
		t.Errorf("said %q", said)
	}
}

// TestSettingsThatDoNotCount: settings are of one log, beside it, and of whom it belongs to.
func TestSettingsThatDoNotCount(t *testing.T) {
	unread := func(what string, r *find.Report) {
		t.Helper()
		if len(r.Finds[0].Supplied) > 0 || r.Finds[0].Finder != "" {
			t.Errorf("%s: the settings were used", what)
		}
	}
	dir := keeps(t, nil)
	r, said, err := readBeside(t, &pipeline.Beside{}, dir)
	if err != nil || said != "" {
		t.Fatal(err, said)
	}
	unread("a folder as input", r)

	log := filepath.Join(dir, "season.csv")
	write(t, log, strings.Replace(openLog, "Depth", "Depth [cm]", 1))
	r, said, err = readBeside(t, &pipeline.Beside{}, log)
	if err != nil || !strings.Contains(said, "other headings") {
		t.Fatal(err, said)
	}
	unread("other headings", r)
	if _, _, err = readBeside(t, &pipeline.Beside{File: pipeline.SettingsName(log)}, log); err == nil ||
		!strings.Contains(err.Error(), "other headings") {
		t.Errorf("--settings of another log: %v", err)
	}
	write(t, log, openLog+"3,6/4/2024,pin,2,1,SP 5271 9013\n")
	if r, _, err = readBeside(t, &pipeline.Beside{}, log); err != nil || r.Finds[2].Supplied["/depth"] == "" {
		t.Errorf("with one row more the settings do not count: %v", err)
	}

	linked := filepath.Join(t.TempDir(), "season.csv")
	write(t, linked, openLog)
	if err := os.Symlink(pipeline.SettingsName(log), pipeline.SettingsName(linked)); err != nil {
		t.Skip("no links here")
	}
	if r, _, err = readBeside(t, &pipeline.Beside{}, linked); err != nil {
		t.Fatal(err)
	}
	unread("a link", r)
	if r, _, err = readBeside(t, &pipeline.Beside{File: pipeline.SettingsName(log)}, linked); err != nil ||
		r.Finds[0].Finder == "" {
		t.Errorf("--settings was not used: %v", err)
	}
}

// TestSettingsRefuse: they say how a log is read, and never who may see what or what is silenced.
func TestSettingsRefuse(t *testing.T) {
	good := `{"findslipSettings": "1.0", "headings": "sha256:` + strings.Repeat("0", 64) + `"%}`
	read := func(more string) error {
		_, err := spreadsheet.ReadSettings(strings.NewReader(strings.Replace(good, "%", more, 1)), pipeline.Options{}.Limits)
		return err
	}
	if err := read(""); err != nil {
		t.Fatal(err)
	}
	for _, member := range []string{"sensitivity", "consents", "embargoUntil", "policy", "audience", "accepted",
		"severities", "rules"} {
		if err := read(`, "` + member + `": "open"`); err == nil || !strings.Contains(err.Error(),
			"does not belong in a settings file") {
			t.Errorf("%s: %v", member, err)
		}
	}
	for what, more := range cases.Table[map[string]string](t, "SettingsRefuse") {
		if err := read(more); err == nil || !strings.Contains(err.Error(), strings.TrimSpace(what)) {
			t.Errorf("%s: %v", more, err)
		}
	}
}

var update = flag.Bool("update", false, "write the readings of strangers.txtar anew, to be read with care")

// TestStrangers reads logs as people keep them, and compares each find with the line that a careful reader would make
// of it; testdata/strangers.txtar says where they come from.
func TestStrangers(t *testing.T) {
	const name = "testdata/strangers.txtar"
	archive, err := txtar.ParseFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(archive.Files); i += 2 {
		log, want := archive.Files[i], &archive.Files[i+1]
		t.Run(log.Name, func(t *testing.T) {
			got := reading(t, log)
			if *update {
				want.Data = []byte(got)
			} else if got != string(want.Data) {
				t.Errorf("got\n%swant\n%s", got, want.Data)
			}
		})
	}
	if *update {
		if err := os.WriteFile(name, txtar.Format(archive), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// reading returns a line a find, and the codes of rows that are none.
func reading(t *testing.T, log txtar.File) string {
	path := filepath.Join(t.TempDir(), log.Name)
	if write(t, path, string(log.Data)); filepath.Ext(path) == ".xlsx" {
		writeSheets(t, path, string(log.Data))
	}
	var b bytes.Buffer
	result, err := pipeline.Convert(context.Background(), path, &b, pipeline.Options{To: pipeline.Findslip})
	if err != nil {
		t.Fatal(err)
	}
	var r find.Report
	if err := json.Unmarshal(b.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for _, f := range r.Finds {
		fmt.Fprint(&out, lineOf(&r, f))
		if name := filepath.Ext(log.Name); len(f.Columns) > 0 && (name == ".gpx" || name == ".kml" || name == ".geojson") {
			fmt.Fprintf(&out, "; kept %v", f.Columns)
		}
		out.WriteString("\n")
	}
	for _, o := range r.Outings {
		if o.NothingFound != nil && *o.NothingFound {
			fmt.Fprintf(&out, "nothing on %s\n", o.Date)
		}
	}
	for _, n := range result.Notices {
		switch n.Kind.Code {
		case "column-by-content", "section-unread", "row-not-a-find", "sheet-beside", "headings-missing", "year-taken",
			"field-unreadable":
			fmt.Fprintf(&out, "row %d: %s\n", n.Row, n.Kind.Code)
		}
	}
	return out.String()
}

// writeSheets makes a workbook of text: a line @ NAME begins a sheet, and a bar parts the cells of a row.
func writeSheets(t *testing.T, path, text string) {
	book := excelize.NewFile()
	sheet, row := "", 0
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if name, ok := strings.CutPrefix(line, "@ "); ok {
			sheet, row = name, 0
			_, _ = book.NewSheet(sheet) // an error shows in the rows
			continue
		}
		row++
		for i, text := range strings.Split(line, "|") {
			var value any = text
			if n, err := strconv.ParseFloat(text, 64); err == nil {
				value = n
			}
			cell, _ := excelize.CoordinatesToCellName(i+1, row)
			if err := book.SetCellValue(sheet, cell, value); err != nil {
				t.Fatal(err)
			}
		}
	}
	_ = book.DeleteSheet("Sheet1")
	if err := book.SaveAs(path); err != nil {
		t.Fatal(err)
	}
}

// lineOf says what was read of a find: number, name, day, depth in cm, weight in g, count, material, place, finder,
// pictures.
func lineOf(r *find.Report, f *find.Find) string {
	var parts []string
	say := func(format string, x ...any) { parts = append(parts, fmt.Sprintf(format, x...)) }
	span := func(of, unit string, q *find.Quantity) {
		if q != nil && (q.Min.Known() || q.Max.Known()) {
			say("%s %s-%s%s", of, q.Min.String(), q.Max.String(), unit)
		} else if q != nil {
			say("%s %q", of, q.Verbatim)
		}
	}
	say("%s %s", cmp.Or(f.Number, "-"), cmp.Or(f.Name, "-"))
	if f.Found != nil {
		say("%s", cmp.Or(f.Found.Date, fmt.Sprintf("%q", f.Found.Verbatim)))
	}
	if f.Depth != nil {
		span("depth", " cm", &f.Depth.Quantity)
	}
	span("weight", " g", f.Weight)
	span("count", "", f.Count)
	for _, m := range f.Materials {
		say("%s", cmp.Or(m.Code, m.Verbatim))
	}
	if p := f.Position; p != nil && p.Latitude.Known() {
		say("at %.4f %.4f", p.Latitude.Float(), p.Longitude.Float())
	} else if p != nil {
		say("at %q", p.Verbatim)
	}
	if p := r.Permission(f.Permission); p != nil && p.Place != nil {
		say("in %s", p.Place.Name)
	}
	if p := r.Person(f.Finder); p != nil {
		say("by %s", cmp.Or(p.Handle, p.Name))
	}
	for _, m := range f.Media {
		say("picture %s", m.File)
	}
	return strings.Join(parts, "; ")
}

// season logs of one keeper: numbers begin again, people and land are the same but for their order.
const (
	log2024 = "No,Date,Field,Finder,Find,Depth (cm),Kept by\n1,2024-04-13,Long Furlong,finder-a,crotal bell,12,\n" +
		"2,2024-04-14,Chapel Piece,finder-b,cloth seal,9,\n"
	log2025 = "No,Date,Field,Finder,Find,Depth (cm)\n1,2025-04-13,Chapel Piece,finder-b,jetton,15\n2,2025-04-14,Long " +
		"Furlong,finder-c,thimble,7\n"
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
	for name, text := range cases.Table[map[string]string](t, "FolderOfLogs") {
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
		`{"findslip": "1.0", "audience": "public", "finds": [{"id": "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", `+
			`"number": "1", "name": "x"}]}`)
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
