package main

import (
	"context"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"findslip": func() { os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

func TestScripts(t *testing.T) {
	example, err := os.ReadFile("../../examples/thornmere/season.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{Dir: "testdata/script", Setup: func(e *testscript.Env) error {
		return os.WriteFile(e.WorkDir+"/season.xlsx", example, 0o644)
	}})
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
