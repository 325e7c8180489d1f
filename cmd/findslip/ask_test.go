package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
)

// TestAsk answers some questions, leaves others open, and reads the log by the answers.
func TestAsk(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "season.csv")
	text := "No,Date,Find,Depth,Lat,Long,Plugh\n1,3/4/2024,button,8,40.1231,-89.1231,north\n2,5/4/2024,bell,6,40.1232,-89.1233,south\n"
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
