package main

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
)

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
