package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the examples of profiles anew")

// profileExamples are the invented receivers of examples/profiles: name, audience, the day that counts as today.
var profileExamples = [][3]string{
	{"county-recorder", "recorder", "2026-04-12"}, {"club-sheet", "club", "2026-04-12"},
	{"field-walking", "recorder", "2026-05-03"}, {"landowner", "landowner", "2026-04-12"},
}

// profiled runs the command in the folder of the examples and returns what it wrote.
func profiled(t *testing.T, args ...string) string {
	t.Helper()
	var out, talk bytes.Buffer
	if status := run(context.Background(), args, strings.NewReader(""), &out, &talk); status == exitFailed {
		t.Fatalf("%v: %s", args, talk.String())
	}
	return out.String()
}

// The examples of profiles are what the command makes of them: report, words, workbook, template. With -update they are made.
func TestExamplesOfProfiles(t *testing.T) {
	t.Chdir(filepath.Join("..", "..", "examples", "profiles"))
	for _, x := range profileExamples {
		name, file := x[0], x[0]+".findslip-profile.json"
		report := profiled(t, "check", name+".csv", "--profile", file, "--for", x[1], "--as-of", x[2], "--fail-on", "never")
		if _, verdict, ok := strings.Cut(report, "\nGood for “"); ok {
			report = "Good for “" + verdict // what the rules say is not of the profile
		}
		words := profiled(t, "profile", file)
		book, back := filepath.Join(t.TempDir(), "p.xlsx"), filepath.Join(t.TempDir(), file) // the workbook comes back as it was
		profiled(t, "profile", file, "--sheet", book)
		profiled(t, "profile", book, "-o", back)
		if d := cmp.Diff(profiled(t, "profile", file, "--effective"), profiled(t, "profile", back, "--effective")); d != "" {
			t.Error(d)
		}
		made := filepath.Join(t.TempDir(), "t.xlsx")
		profiled(t, "template", "--profile", file, "-o", made)
		template, err := os.ReadFile(made)
		if err != nil {
			t.Fatal(err)
		}
		for target, text := range map[string][]byte{name + ".report.txt": []byte(words + "\n" + report),
			name + ".template.xlsx": template} {
			if *update {
				if err := os.WriteFile(target, text, 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			kept, err := os.ReadFile(target)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(string(kept), string(text)); d != "" {
				t.Errorf("%s is not as made; run with -update: %.4000s", target, d)
			}
		}
	}
}
