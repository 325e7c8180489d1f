package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/testscript"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/schemacheck"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"findslip": func() { os.Exit(process()) },
	})
}

func TestScripts(t *testing.T) {
	example, err := os.ReadFile("../../examples/thornmere/season.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			return os.WriteFile(e.WorkDir+"/season.xlsx", example, 0o644)
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"status": status, "valid": valid,
			"encode": encode},
	})
}

// status runs the command and compares its exit status: status 1 check season.xlsx.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N argument...")
	}
	want, err := strconv.Atoi(args[0])
	if err != nil {
		ts.Fatalf("%q is no exit status", args[0])
	}
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec("findslip", args[1:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("running findslip: %v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// encode writes a text file in another form: encode cr log.csv old.csv. The form is utf-16, with its
// mark, windows-1252, cr, crlf, or owner-only, which compares the rights of a file and writes none.
func encode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: encode form file [file]")
	}
	if args[0] == "owner-only" {
		info, err := os.Stat(ts.MkAbs(args[1]))
		ts.Check(err)
		if mode := info.Mode().Perm(); runtime.GOOS != "windows" && mode != 0o600 {
			ts.Fatalf("%s has the rights %o", args[1], mode)
		}
		return
	}
	text := ts.ReadFile(args[1])
	var err error
	switch args[0] {
	case "utf-16":
		text, err = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(text)
	case "windows-1252":
		text, err = charmap.Windows1252.NewEncoder().String(text)
	case "cr":
		text = strings.ReplaceAll(text, "\n", "\r")
	case "crlf":
		text = strings.ReplaceAll(text, "\n", "\r\n")
	default:
		ts.Fatalf("there is no form %q", args[0])
	}
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), []byte(text), 0o600))
}

// valid checks a file, or what was written to standard output, against a schema, which has to name every member: valid
// notices n.json.
func valid(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: valid schema file")
	}
	schemas, err := schemacheck.New()
	if err != nil {
		ts.Fatalf("%v", err)
	}
	found, err := schemas.Document([]byte(ts.ReadFile(args[1])), args[0])
	if err != nil {
		ts.Fatalf("%v", err)
	}
	for _, f := range found {
		ts.Logf("%s: %s", f.Pointer, f.Message)
	}
	unknown := schemas.UnknownMembers([]byte(ts.ReadFile(args[1])), args[0])
	for _, u := range unknown {
		ts.Logf("%s: no member of the schema", u.Pointer)
	}
	if len(found)+len(unknown) > 0 {
		ts.Fatalf("%s is no valid %s", args[1], args[0])
	}
}

// Every subcommand has help with a worked example.
func TestEveryCommandHasAnExample(t *testing.T) {
	p := &program{}
	for _, c := range p.command().Commands() {
		if c.Short == "" || c.Example == "" {
			t.Errorf("%s has no help or no example", c.Name())
		}
	}
}

// What the README shows behind "$ findslip", or "$ go run ./cmd/findslip", stands in what the command says,
// line by line and in that order.
func TestReadmeSaysWhatTheCommandSays(t *testing.T) {
	raw, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir("../..")
	var said []string // what is left of what the last command said
	commands, lines := 0, 0
	for line := range strings.Lines(string(raw)) {
		shown, indented := strings.CutPrefix(strings.TrimRight(line, "\n"), "    ")
		shown = strings.TrimSpace(shown)
		command, isCommand := strings.CutPrefix(strings.Replace(shown, "go run ./cmd/findslip", "findslip", 1), "$ findslip ")
		switch {
		case !indented:
			said = nil
		case isCommand:
			var args []string
			for i, part := range strings.Split(command, "'") {
				if i%2 == 1 {
					args = append(args, part)
				} else {
					args = append(args, strings.Fields(part)...)
				}
			}
			var out, talk bytes.Buffer
			run(context.Background(), args, strings.NewReader(""), &out, &talk)
			said = strings.Split(out.String()+talk.String(), "\n")
			commands++
		case said != nil:
			for len(said) > 0 && strings.TrimSpace(said[0]) != shown {
				said = said[1:]
			}
			if len(said) == 0 {
				t.Fatalf("the command does not say %q", shown)
			}
			lines++
		}
	}
	if commands < 2 || lines < 8 {
		t.Errorf("%d commands with %d lines were found in the README", commands, lines)
	}
}

// A code that is nearly right is answered with the right one, and one that is like none with none.
func TestKindNear(t *testing.T) {
	for code, want := range map[string]string{"nubmer-repeated": "number-repeated", "Unit-Missing": "unit-missing",
		"unit_missing": "unit-missing", "whatever": "", "": ""} {
		if got := kindNear(code); got != want {
			t.Errorf("%q is near to %q, want %q", code, got, want)
		}
	}
	for _, k := range pipeline.Kinds() {
		if got := kindNear(k.Code); got != k.Code {
			t.Errorf("%s is near to %s", k.Code, got)
		}
	}
}

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

// The examples of profiles are what the command makes of them: report, words, workbook, template. With -update they are
// made.
func TestExamplesOfProfiles(t *testing.T) {
	t.Chdir(filepath.Join("..", "..", "examples", "profiles"))
	for _, x := range profileExamples {
		name, file := x[0], x[0]+".findslip-profile.json"
		report := profiled(t, "check", name+".csv", "--profile", file, "--for", x[1], "--as-of", x[2], "--fail-on", "never")
		if _, verdict, ok := strings.Cut(report, "\nGood for “"); ok {
			report = "Good for “" + verdict // what the rules say is not of the profile
		}
		words := profiled(t, "profile", file)
		// the workbook comes back as it was
		book, back := filepath.Join(t.TempDir(), "p.xlsx"), filepath.Join(t.TempDir(), file)
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
