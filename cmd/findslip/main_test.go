package main

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"github.com/findslip/findslip/pkg/validate"
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
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"status": status, "valid": valid},
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

// valid checks a file, or what was written to standard output, against a schema: valid notices n.json.
func valid(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: valid schema file")
	}
	schemas, err := validate.NewSchemas()
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
	if len(found) > 0 {
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
