//go:build findslip_manpages

package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// Every command that people see has a page, which names it, its flags and its worked example.
func TestManPages(t *testing.T) {
	folder := t.TempDir()
	if status := run(context.Background(), []string{"manpages", folder}, strings.NewReader(""), new(bytes.Buffer),
		os.Stderr); status != exitWell {
		t.Fatalf("status %d", status)
	}
	files, err := filepath.Glob(filepath.Join(folder, "*.1"))
	if err != nil {
		t.Fatal(err)
	}
	pages := map[string]bool{}
	for _, f := range files {
		pages[filepath.Base(f)] = true
	}
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		name := strings.ReplaceAll(c.CommandPath(), " ", "-") + ".1"
		raw, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Errorf("%s has no page", c.CommandPath())
			return
		}
		delete(pages, name)
		text := strings.ReplaceAll(string(raw), `\`, "")
		for _, want := range []string{`.TH "` + strings.ToUpper(strings.TrimSuffix(name, ".1")) + `" "1"`,
			strings.Fields(c.Short)[0], ".SH SYNOPSIS"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s has no %q", name, want)
			}
		}
		for _, flag := range []string{"limit", "quiet"} {
			if !strings.Contains(text, "--"+flag) {
				t.Errorf("%s does not tell of --%s", name, flag)
			}
		}
		if c.Example != "" && !strings.Contains(text, ".SH EXAMPLE") {
			t.Errorf("%s has no example", name)
		}
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() && sub.Name() != "help" {
				visit(sub)
			}
		}
	}
	root := new(program).command()
	root.InitDefaultCompletionCmd()
	visit(root)
	for name := range pages {
		t.Errorf("%s is the page of no command", name)
	}
}
