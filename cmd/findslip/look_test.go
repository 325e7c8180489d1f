package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/pipeline"
)

// A log that is dropped on the program becomes a report beside it, which is opened; what cannot be read becomes a
// page that says so.
func TestDropped(t *testing.T) {
	folder := t.TempDir()
	log, other := filepath.Join(folder, "season.csv"), filepath.Join(folder, "holiday.pages")
	for name, text := range map[string]string{log: "Number,What,Depth\n1,button,8 in\n", other: "\x00\x01\x02"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var opened []string
	var talk bytes.Buffer
	browser := error(nil)
	drop := func(args ...string) int {
		opened = nil
		talk.Reset()
		p := &program{in: strings.NewReader(""), out: &talk, err: &talk, unfinished: new(pipeline.Unfinished),
			opener: func(page string) error { opened = append(opened, page); return browser }}
		return p.run(context.Background(), args)
	}
	report := filepath.Join(folder, "season-report.html")
	for range 2 { // the second time the report is there already
		if status := drop(log); status != exitWell || !cmp.Equal(opened, []string{report}) {
			t.Fatalf("status %d, opened %v: %s", status, opened, talk.String())
		}
	}
	page, err := os.ReadFile(report)
	if err != nil || !bytes.Contains(page, []byte("<h1>")) || !bytes.Contains(page, []byte("1 find")) {
		t.Errorf("%v: %.200s", err, page)
	}
	if status := drop(other); status != exitFailed || len(opened) != 1 {
		t.Errorf("what is no log: status %d, opened %v", status, opened)
	} else if page, err := os.ReadFile(opened[0]); err != nil || !bytes.Contains(page, []byte("holiday.pages")) {
		t.Errorf("what is no log: %v, %s", err, page)
	} else {
		_ = os.Remove(opened[0])
	}
	if status := drop("look", log, "--no-open", "--language", "de"); status != exitWell || opened != nil {
		t.Errorf("without opening: status %d, opened %v", status, opened)
	}
	browser = errors.New("there is none")
	if status := drop(log); status != exitFailed || !strings.Contains(talk.String(), "open "+report+" yourself") {
		t.Errorf("without a browser: status %d, %s", status, talk.String())
	}
	if status := drop(filepath.Join(folder, "nowhere.csv")); status != exitFailed || opened != nil {
		t.Errorf("a file that is not there: status %d", status)
	}
}

func TestOpener(t *testing.T) {
	for system, want := range map[string]string{"windows": "rundll32 url.dll,FileProtocolHandler a.html",
		"darwin": "open a.html", "linux": "xdg-open a.html"} {
		name, args := opener(system, "a.html")
		if got := name + " " + strings.Join(args, " "); got != want {
			t.Errorf("%s: %s", system, got)
		}
	}
}

// TestAsk answers some questions, leaves others open, and reads the log by the answers.
func TestAsk(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "season.csv")
	text := "No,Date,Find,Depth,Lat,Long,Plugh\n1,3/4/2024,button,8,40.1231,-89.1231,north\n2,5/4/2024,bell,6,40.1232," +
		"-89.1233,south\n"
	if err := os.WriteFile(log, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	ask := func(answers string, args ...string) (int, string) {
		var out, errOut bytes.Buffer
		p := &program{in: strings.NewReader(answers), out: &out, err: &errOut, unfinished: new(pipeline.Unfinished),
			asks: answers != ""}
		status := p.run(t.Context(), args)
		return status, out.String() + errOut.String()
	}
	if status, said := ask("", "columns", log, "--ask"); status != exitFailed || !strings.Contains(said, "terminal") {
		t.Errorf("without a terminal: %d, %s", status, said)
	}
	if status, said := ask("\n\n\n\n\n\n\n\n", "columns", log, "--ask"); status != exitWell || !strings.Contains(said,
		"nothing was written") {
		t.Errorf("without answers: %d, %s", status, said)
	}
	// the column; the month first, as the spots suggest; inches; finder; country; the rest open
	status, said := ask("zzz\npermission\n1\nin\nfinder-a\n1\n", "columns", log, "--ask")
	if status != exitWell || !strings.Contains(said, "mdy: the month comes first: 2024-03-04  (likely)") ||
		!strings.Contains(said, "US: as the positions suggest  (likely)") {
		t.Fatalf("%d, %s", status, said)
	}
	if _, said := ask("x", "convert", log, "--quiet", "-o", "-", "--to", "findslip"); !strings.Contains(said,
		`"date": "2024-03-04"`) ||
		!strings.Contains(said, `"country": "US"`) || !strings.Contains(said, `"name": "north"`) || !strings.Contains(said,
		"is read by season.findslip-settings.json") {
		t.Errorf("converted: %s", said)
	}
	if _, said := ask("x", "convert", log, "--no-settings", "-o", "-", "--to", "findslip"); strings.Contains(said,
		`"date": "2024-03-04"`) || strings.Contains(said, "is read by") {
		t.Errorf("--no-settings: %s", said)
	}
	if status, _ := ask("1\n", "columns", log, "--ask"); status != exitFailed {
		t.Error("settings that are there were replaced")
	}
}

// A clock that goes on by a tenth of a second each time it is looked at: nothing is said in the first
// second, then one line in two looks, with the end in sight where the rows were counted, and the line goes away.
func TestProgress(t *testing.T) {
	var log strings.Builder
	log.WriteString("No,Find,Depth [in]\n")
	const rows = 3000
	for i := range rows {
		fmt.Fprintf(&log, "%d,bell,%d\n", i+1, i%9+1)
	}
	name := filepath.Join(t.TempDir(), "log.csv")
	if err := os.WriteFile(name, []byte(log.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	at := time.Unix(0, 0)
	o := pipeline.Options{To: pipeline.JSONL}
	g := watch(&said, func() time.Time { at = at.Add(time.Second / 10); return at }, &o)
	if _, err := pipeline.Convert(context.Background(), name, io.Discard, o); err != nil {
		t.Fatal(err)
	}
	g.clear()
	lines := strings.Split(said.String(), "\r\x1b[K")
	// The survey looks twice, at 1,024 and 2,048 rows; finds are counted from the third look on.
	want := []string{"", "8 of 3000 finds read", "10 of 3000 finds read"}
	if d := cmp.Diff(want, lines[:3]); d != "" {
		t.Error(d)
	}
	if len(lines) != 1+(rows-8)/2+1+1 || lines[len(lines)-1] != "" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
	said.Reset()
	g.next = time.Time{}
	o.Table.Looked(2048)
	o.Progress(7, 0)
	g.next = time.Time{}
	o.Progress(8, 0)
	g.clear()
	g.clear()
	if d := cmp.Diff("\r\x1b[Klooking through the table: 2048 rows\r\x1b[K8 finds read\r\x1b[K", said.String()); d != "" {
		t.Error(d)
	}
}

// Standard error that is no terminal hears nothing of it.
func TestProgressForPeopleAlone(t *testing.T) {
	var o pipeline.Options
	(&program{err: new(bytes.Buffer)}).progress(&o)()
	if o.Progress != nil || o.Table.Looked != nil {
		t.Error("a file would be told how far the work is")
	}
}
