package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
)

const season = "../../examples/thornmere/season.xlsx"

// secrets are the texts of the example that tell where something was found or who somebody is.
func secrets(t *testing.T) []string {
	t.Helper()
	raw, err := os.ReadFile("../../examples/thornmere/season.findslip.json")
	if err != nil {
		t.Fatal(err)
	}
	s, err := find.DecodeJSON(bytes.NewReader(raw), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	report, _, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	add := func(texts ...string) {
		for _, text := range texts {
			if len(text) > 5 {
				out = append(out, text)
			}
		}
	}
	for _, f := range report.Finds {
		if p := f.Position; p != nil {
			add(p.Longitude.String(), p.Latitude.String(), p.Verbatim, strings.ReplaceAll(p.Verbatim, " ", ""))
		}
		if p := f.Place; p != nil {
			add(p.Name, p.Parish, p.Verbatim)
		}
		add(f.StoragePlace)
	}
	for _, p := range report.People {
		add(p.Name, p.Handle)
	}
	for _, p := range report.Permissions {
		if p.Area != nil {
			polygons, err := p.Area.Polygons()
			if err != nil {
				t.Fatal(err)
			}
			for _, corner := range polygons[0][0] {
				add(strings.Trim(string(corner), "[] "))
			}
		}
	}
	if len(out) < 20 {
		t.Fatalf("only %d texts to look for", len(out))
	}
	return out
}

func findslip(t *testing.T, want int, args ...string) (out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	if got := run(context.Background(), args, strings.NewReader(""), &o, &e); got != want {
		t.Fatalf("findslip %s ends with %d, want %d: %s", strings.Join(args, " "), got, want, e.String())
	}
	return o.String(), e.String()
}

// A report of notices holds no position, name or address. The page with places draws them and names
// what was found, but writes no coordinate either.
func TestNoReportTellsAPlace(t *testing.T) {
	look := func(form, text string, secrets []string) {
		t.Helper()
		if len(text) < 500 {
			t.Errorf("%s has only %d bytes", form, len(text))
		}
		for _, s := range secrets {
			// A whole word: finder-agreed-owner, a code of a list, is not finder-a.
			if regexp.MustCompile(regexp.QuoteMeta(s) + `(?:[^a-z]|$)`).MatchString(text) {
				t.Errorf("%s holds %q", form, s)
			}
		}
	}
	hidden := secrets(t)
	for _, form := range []string{"text", "json", "csv", "html", "sarif"} {
		out, _ := findslip(t, exitWell, "check", season, "--as-of", "2027-06-01", "--level", "full", "--fail-on", "never",
			"--report", form)
		look(form, out, hidden)
		if strings.Contains(out, "<svg") {
			t.Errorf("%s has a plan unasked", form)
		}
	}
	var digits []string
	for _, s := range hidden {
		if strings.ContainsAny(s, "0123456789") {
			digits = append(digits, s)
		}
	}
	out, _ := findslip(t, exitWell, "check", season, "--as-of", "2027-06-01", "--fail-on", "never", "--report", "html",
		"--with-places")
	look("html with places", out, digits)
	for _, want := range []string{"<svg", "drawn to its own scale", "This page says where finds were made",
		"crotal bell"} {
		if !strings.Contains(out, want) {
			t.Errorf("the page with places lacks %q", want)
		}
	}
}

func TestCheckMark(t *testing.T) {
	dir := t.TempDir()
	marked := filepath.Join(dir, "marked.xlsx")
	before, err := os.ReadFile(season)
	if err != nil {
		t.Fatal(err)
	}
	_, e := findslip(t, exitNotices, "check", season, "--as-of", "2026-06-01", "--mark", marked)
	if !strings.Contains(e, `all notices in the sheet "Findslip notices"`) {
		t.Error(e)
	}
	if after, err := os.ReadFile(season); err != nil || !bytes.Equal(before, after) {
		t.Error("the input was changed")
	}
	f, err := excelize.OpenFile(marked)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	list, err := f.GetComments("Log 2026")
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, c := range list {
		found = found || c.Cell == "D18" && c.Author == "findslip"
	}
	if !found {
		t.Errorf("no comment at the cell with the spreadsheet date, of %d", len(list))
	}
}
