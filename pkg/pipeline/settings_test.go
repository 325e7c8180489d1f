package pipeline_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

const openLog = "No,Date,Find,Depth,Width (cm),Grid\n1,3/4/2024,crotal bell,8,2,SP 5270 9011\n2,5/4/2024,cloth seal,6 cm,1,SP 5271 9012\n"

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
	for what, more := range map[string]string{
		"does not belong":   `, "defaults": {"sensitivity": "open"}`,
		"does not belong ":  `, "plan": {"columnMap": "1.0", "tables": [{"read": "finds", "columns": [{"column": "A", "field": "embargoUntil"}]}]}`,
		"are all that can":  `, "defaults": {"depth": "8 in"}`,
		"code of a country": `, "defaults": {"place.country": "England"}`,
		"is not a code":     `, "defaults": {"depth.basis": "by eye"}`,
		"folder of the log": `, "protected": "../areas.geojson"`,
		"is not one of mm":  `, "unit": "hand"`,
		"is not known":      `, "mood": "good"`,
	} {
		if err := read(more); err == nil || !strings.Contains(err.Error(), strings.TrimSpace(what)) {
			t.Errorf("%s: %v", more, err)
		}
	}
}
