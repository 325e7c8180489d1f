package main

import (
	"context"
	"errors"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/render"
)

func (p *program) lookCommand() *cobra.Command {
	var language string
	var quiet bool
	c := described("look", &cobra.Command{
		Args: needs(1, "a log"),
		RunE: func(c *cobra.Command, args []string) error {
			return p.look(c.Context(), args, language, quiet)
		},
	})
	c.Flags().StringVar(&language, "language", "en", "language of the report: "+strings.Join(render.Languages(), ", "))
	c.Flags().BoolVar(&quiet, "no-open", false, "write the reports and open none")
	return c
}

// look writes a report beside each log and opens it. What fails is told on a page as well: where a file was dropped
// there is no terminal to read.
func (p *program) look(ctx context.Context, logs []string, language string, quiet bool) error {
	if !slices.Contains(render.Languages(), language) {
		return fmt.Errorf("--language %q is not one of %s", language, strings.Join(render.Languages(), ", "))
	}
	var failed error
	for _, log := range logs {
		page := strings.TrimSuffix(log, filepath.Ext(log)) + "-report.html"
		var talk strings.Builder
		one := &program{in: p.in, out: p.out, err: &talk, limits: p.limits, unfinished: p.unfinished}
		status := one.run(ctx, []string{"check", log, "--report", "html", "--language", language, "--fail-on", "never",
			"-o", page, "--force"})
		if status != exitWell {
			failed = errors.Join(failed, errors.New(strings.TrimPrefix(strings.TrimSpace(talk.String()), "findslip: ")))
			if page = troublePage(talk.String()); page == "" {
				continue
			}
		} else {
			p.say("the report of %s: %s", filepath.Base(log), page)
		}
		if quiet {
			continue
		}
		if err := p.show(page); err != nil {
			failed = errors.Join(failed, fmt.Errorf("no browser could be opened; open %s yourself", page))
		}
	}
	return failed
}

// troublePage writes a page that tells what went wrong, and returns its name.
func troublePage(text string) string {
	f, err := os.CreateTemp("", "findslip-*.html")
	if err != nil {
		return ""
	}
	defer f.Close()
	fmt.Fprintf(f, `<!doctype html><meta charset="utf-8"><title>Findslip</title><style>%s</style><h1>Findslip</h1>`+
		`<p>%s</p>`,
		render.Look(), html.EscapeString(render.Clean(text)))
	return f.Name()
}

// show opens a page in the browser of the machine.
func (p *program) show(page string) error {
	if p.opener != nil {
		return p.opener(page)
	}
	whole, err := filepath.Abs(page)
	if err != nil {
		return err
	}
	name, args := opener(runtime.GOOS, whole)
	return exec.Command(name, args...).Start()
}

// opener is the program of a system that opens a page.
func opener(system, page string) (name string, args []string) {
	switch system {
	case "windows":
		return "rundll32", []string{"url.dll,FileProtocolHandler", page}
	case "darwin":
		return "open", []string{page}
	}
	return "xdg-open", []string{page}
}

// dropped are the arguments of a program that was started with files and no command, as it is where files are dropped
// on it.
func dropped(root *cobra.Command, args []string) []string {
	for _, arg := range args {
		if c, _, err := root.Find([]string{arg}); err == nil && c != root || strings.HasPrefix(arg, "-") {
			return args
		}
		if info, err := os.Stat(arg); err != nil || info.IsDir() {
			return args
		}
	}
	if len(args) == 0 {
		return args
	}
	return append([]string{"look"}, args...)
}
