package desk_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/cmd/internal/desk"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

const day = "2026-06-01"

// at lays files of the project open.
func at(t *testing.T, files ...string) *desk.Desk {
	t.Helper()
	open := map[string][]byte{}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		open[filepath.Base(name)] = b
	}
	d := new(desk.Desk)
	if err := d.Lay(open); err != nil {
		t.Fatal(err)
	}
	return d
}

// ask asks and reads the answer.
func ask(t *testing.T, d *desk.Desk, request map[string]any) (text map[string]any, content []byte) {
	t.Helper()
	if request["options"] == nil {
		request["options"] = map[string]any{"asOf": day}
	}
	b, err := json.Marshal(request)
	if err != nil {
		t.Fatal(err)
	}
	said, content, err := d.Answer(context.Background(), b)
	if err != nil {
		t.Fatalf("%s: %v", b, err)
	}
	if err := json.Unmarshal([]byte(said), &text); err != nil && strings.HasPrefix(said, "{") {
		t.Fatal(err)
	}
	return text, content
}

// command builds the command once and runs it.
func command(t *testing.T) func(folder string, args ...string) []byte {
	t.Helper()
	program := filepath.Join(t.TempDir(), "findslip")
	if out, err := exec.Command("go", "build", "-o", program,
		"github.com/findslip/findslip/cmd/findslip").CombinedOutput(); err != nil {
		t.Fatalf("%s", out)
	}
	return func(folder string, args ...string) []byte {
		t.Helper()
		c := exec.Command(program, args...)
		var out, talk bytes.Buffer
		c.Dir = folder
		c.Stdout, c.Stderr = &out, &talk
		if err := c.Run(); err != nil {
			t.Fatalf("%v: %v %s", args, err, talk.String())
		}
		return out.Bytes()
	}
}

// plain takes out what names the program and its version.
func plain(b []byte) string {
	return regexp.MustCompile(`findslip 1\.[\w.-]+`).ReplaceAllString(string(b), "findslip")
}

// Part by part, the desk says what the command says: the notices and what was not checked, the page, the formats.
func TestSameAsTheCommand(t *testing.T) {
	run := command(t)
	logs, err := filepath.Glob("../../../testdata/kept/*.*")
	if err != nil {
		t.Fatal(err)
	}
	all := []string{"../../../examples/thornmere/season.xlsx", "../../../examples/thornmere/season.csv",
		"../../../examples/thornmere/season.gpx", "../../../testdata/valid/full.findslip.json"}
	for _, name := range logs {
		if !strings.HasSuffix(name, ".truth.json") && !strings.HasSuffix(name, ".md") {
			all = append(all, name)
		}
	}
	for i, name := range all {
		if i%heavy.Some(5, 1) != 0 {
			continue
		}
		t.Run(filepath.Base(name), func(t *testing.T) {
			d, base := at(t, name), filepath.Base(name)
			said, page := ask(t, d, map[string]any{"do": "check", "name": base})
			var want map[string]any
			report := run(filepath.Dir(name), "check", base, "--as-of", day, "--report", "json", "--fail-on", "never")
			if err := json.Unmarshal(report, &want); err != nil {
				t.Fatal(err)
			}
			got := said["report"].(map[string]any)
			got["tool"], want["tool"] = "", ""
			for part := range want {
				x, _ := json.Marshal(got[part])
				y, _ := json.Marshal(want[part])
				if string(x) != string(y) {
					t.Errorf("%s: the desk has %.300s, the command %.300s", part, x, y)
				}
			}
			if html := run(filepath.Dir(name), "check", base, "--as-of", day, "--report", "html", "--fail-on",
				"never"); plain(page) != plain(html) {
				t.Error("the pages differ")
			}
			if _, brief := ask(t, d, map[string]any{"do": "check", "name": base, "brief": true}); !bytes.Equal(brief, page) {
				t.Error("the page differs where the report is brief")
			}
			for _, to := range []string{"findslip", "geojson", "csv", "xlsx"} {
				said, file := ask(t, d, map[string]any{"do": "convert", "name": base, "to": to, "brief": true})
				if said["lost"] == nil || said["report"].(map[string]any)["summary"] == nil {
					t.Errorf("%s: nothing is said of what was lost or not checked", to)
				}
				out := run(filepath.Dir(name), "convert", base, "--as-of", day, "--to", to, "-o", "-", "--fail-on", "never")
				if plain(file) != plain(out) && to != "xlsx" { // a workbook holds the version packed
					t.Errorf("%s: %d bytes, the command writes %d", to, len(file), len(out))
				}
			}
		})
	}
}

// What a receiver asks is put to a log as the command puts it: what no copy holds is told and not counted.
func TestProfile(t *testing.T) {
	run, folder := command(t), "../../../examples/profiles"
	for _, name := range []string{"county-recorder", "landowner"} {
		asks := name + ".findslip-profile.json"
		d := at(t, filepath.Join(folder, name+".csv"), filepath.Join(folder, asks))
		said, _ := ask(t, d, map[string]any{"do": "check", "name": name + ".csv", "profile": asks})
		var want map[string]any
		if err := json.Unmarshal(run(folder, "check", name+".csv", "--profile", asks, "--as-of", day, "--report", "json",
			"--fail-on", "never"), &want); err != nil {
			t.Fatal(err)
		}
		got := said["report"].(map[string]any)
		if d := cmp.Diff(want["receivers"], got["receivers"]); d != "" || want["receivers"] == nil {
			t.Errorf("%s: %s", name, d)
		}
	}
}

const thornmere = "../../../examples/thornmere/season.xlsx"

func TestSeason(t *testing.T) {
	d := at(t, thornmere, "../../../testdata/kept/06_fundliste.csv")
	figures, page := ask(t, d, map[string]any{"do": "season", "name": "season.xlsx"})
	if n := figures["totals"].(map[string]any)["finds"]; n != 14.0 || bytes.Contains(page, []byte("Long Furlong")) ||
		bytes.Contains(page, []byte("lump of something")) {
		t.Errorf("%v finds, or a field or what may be treasure is named", n)
	}
	if left := fmt.Sprint(figures["left"]); left != "[lump of something: may be treasure]" {
		t.Errorf("the owner is told that %s is left out", left)
	}
	both, _ := ask(t, d, map[string]any{"do": "season", "names": []string{"season.xlsx", "06_fundliste.csv"},
		"for": "self"})
	if n := both["totals"].(map[string]any)["finds"].(float64); n <= 15 {
		t.Errorf("two logs have %v finds", n)
	}
}

// Several logs are read as one, in the check and in what is made of it.
func TestSeveral(t *testing.T) {
	d := at(t, thornmere, "../../../testdata/kept/06_fundliste.csv", "../../../testdata/kept/03_waypoints.gpx")
	names := []string{"season.xlsx", "06_fundliste.csv", "03_waypoints.gpx"}
	said, _ := ask(t, d, map[string]any{"do": "check", "names": names})
	finds := said["report"].(map[string]any)["summary"].(map[string]any)["finds"].(float64)
	_, file := ask(t, d, map[string]any{"do": "convert", "names": names, "to": "findslip"})
	var report struct{ Finds []any }
	if err := json.Unmarshal(file, &report); err != nil || float64(len(report.Finds)) != finds || finds <= 15 {
		t.Errorf("%v finds were checked, %d written, %v", finds, len(report.Finds), err)
	}
	copied, _ := ask(t, d, map[string]any{"do": "share", "names": names, "for": "recorder", "to": "findslip"})
	if copied["looked"] != true || copied["register"] == "" {
		t.Errorf("the copy of three: %v", copied)
	}
}

// An outline that was drawn counts in the check and stands in the plan.
func TestOutline(t *testing.T) {
	d := at(t, thornmere)
	small := []map[string]any{{"field": "Long Furlong",
		"ring": [][]float64{{-1.2275, 52.505}, {-1.227, 52.505}, {-1.227, 52.5055}}}}
	said, page := ask(t, d, map[string]any{"do": "check", "name": "season.xlsx", "outlines": small})
	if text, _ := json.Marshal(said["report"]); !bytes.Contains(text, []byte(`"outside-permission"`)) {
		t.Error("finds outside the outline are not told")
	}
	if bytes.Contains(page, []byte("52.505")) {
		t.Error("the page tells a place")
	}
	where, plans := ask(t, d, map[string]any{"do": "where", "strangers": true, "name": "season.xlsx", "by": "depth",
		"outlines": small})
	if len(where["fields"].([]any)) != 2 || len(where["circles"].([]any)) != 1 || !bytes.Contains(plans,
		[]byte("<polygon")) {
		t.Errorf("where: %.200v", where)
	}
}

// What was stated and accepted holds in every file that is made of a log, and what comes back of a copy is known with
// the log alone, in another session, among several logs.
func TestOneMendedLog(t *testing.T) {
	const log = "Number,Date,What,Weight,Depth\n1,3/4/2026,button,22,8 in\n2,5/6/2026,buckle,3 g,6 in\n"
	files := map[string][]byte{"log.csv": []byte(log), "other.csv": []byte("Number,What\n9,coin\n")}
	d := new(desk.Desk)
	if err := d.Lay(files); err != nil {
		t.Fatal(err)
	}
	asked, settings := ask(t, d, map[string]any{"do": "questions", "name": "log.csv",
		"answers": map[string]string{"0": "dmy"}})
	if asked["name"] != "log.findslip-settings.json" || !json.Valid(settings) {
		t.Fatalf("%v: %s", asked, settings)
	}
	stated := map[string]any{"settings": json.RawMessage(settings)}
	proposals, _ := ask(t, d, map[string]any{"do": "propose", "name": "log.csv", "settings": stated["settings"]})
	for _, p := range proposals["proposals"].([]any) {
		if p := p.(map[string]any); p["before"] == "22" && p["after"] == "22 g" {
			p["accepted"] = true
		}
	}
	stated["accepted"] = proposals
	with := func(more map[string]any) map[string]any { maps.Copy(more, stated); return more }
	for _, form := range []map[string]any{{"do": "convert", "to": "csv"}, {"do": "convert", "to": "findslip"},
		{"do": "share", "for": "recorder", "to": "csv"}} {
		form["name"] = "log.csv"
		if _, file := ask(t, d, with(form)); !bytes.Contains(file, []byte("2026-04-03")) || !bytes.Contains(file,
			[]byte("22 g")) {
			t.Errorf("%v lacks what was stated or accepted: %s", form["for"], file)
		}
	}
	_, page := ask(t, d, with(map[string]any{"do": "check", "name": "log.csv"}))
	if bytes.Contains(page, []byte("unit-missing")) {
		t.Error("the check asks again for what was accepted")
	}
	said, sent := ask(t, d, with(map[string]any{"do": "share", "name": "log.csv", "for": "recorder", "to": "findslip"}))
	files["answer.json"] = bytes.Replace(sent, []byte(`"name": "buckle"`), []byte(`"name": "strap end"`), 1)
	for _, own := range []map[string]any{{"name": "log.csv"}, {"names": []string{"other.csv", "log.csv"}}} {
		d := new(desk.Desk)
		if err := d.Lay(files); err != nil {
			t.Fatal(err)
		}
		back := map[string]any{"do": "receive", "answer": "answer.json", "register": said["register"]}
		maps.Copy(back, own)
		if came, _ := ask(t, d, back); came["kind"] != "answer" || own["names"] != nil && came["of"] != "log.csv" {
			t.Errorf("%v: what came back is %v of %v", own, came["kind"], came["of"])
		}
		for register, kind := range map[string]string{"": "no-register", said["register"].(string): "other-log"} {
			back := map[string]any{"do": "receive", "name": "other.csv", "answer": "answer.json", "register": register}
			if came, _ := ask(t, d, back); came["kind"] != kind {
				t.Errorf("an answer to another log is %v, not %v", came["kind"], kind)
			}
		}
	}
}

// TestPlain holds every text that can be told - those of the codes, of the six languages, and all that stands in the
// code of our packages - to naming neither a command nor a flag on a page, where nobody can type one.
func TestPlain(t *testing.T) {
	talk := desk.Steps{Understood: "“Understood”", Mend: "“Mend”"}
	named := regexp.MustCompile(`--[a-z]{3}|\bfindslip [a-z]`)
	for said, want := range map[string]string{
		"say the encoding with --encoding.":                                  "say the encoding with “Understood”.",
		"Write them as the others; findslip repair proposes it.":             "Write them as the others; “Mend” proposes it.",
		"name them in the reading plan: findslip columns FILE -o plan.json.": "name them in “Understood”.",
		"Vier Ziffern, oder --pivot 1950 für 1950 bis 1.":                    "Vier Ziffern.",
		"no map given: --protected":                                          "no map given",
	} {
		if got := talk.Plain(said); got != want {
			t.Errorf("%s: %s, want %s", said, got, want)
		}
	}
	var texts []string
	for _, pattern := range []string{"codes.json", "speech/*.json"} {
		files, err := filepath.Glob("../../../schema/" + pattern)
		if err != nil || len(files) == 0 {
			t.Fatal(pattern, err)
		}
		for _, file := range files {
			texts = append(texts, quotedIn(t, file, regexp.MustCompile(`"(?:[^"\\]|\\.)*"`))...)
		}
	}
	err := filepath.WalkDir("../../../pkg", func(file string, _ fs.DirEntry, err error) error {
		if strings.HasSuffix(file, ".go") && !strings.HasSuffix(file, "_test.go") {
			texts = append(texts, quotedIn(t, file, regexp.MustCompile(`(?m)"(?:[^"\\\n]|\\.)*"`))...)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	looked := 0
	for _, text := range texts {
		if !named.MatchString(text) {
			continue
		}
		looked++
		if got := talk.Plain(text); named.MatchString(got) {
			t.Errorf("%q is told as %q", text, got)
		}
	}
	if looked < 50 {
		t.Errorf("only %d texts name a command or a flag", looked)
	}
}

func quotedIn(t *testing.T, file string, of *regexp.Regexp) []string {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, text := range of.FindAllString(string(b), -1) {
		out = append(out, text[1:len(text)-1])
	}
	return out
}
