package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// Exit codes of the command.
const (
	exitWell    = 0 // all well
	exitNotices = 1 // the data has notices that --fail-on names
	exitFailed  = 2 // the work could not be done
)

// errNotices makes the command end with exitNotices after everything has been written.
var errNotices = errors.New("notices")

// program is one run of the command.
type program struct {
	in         io.Reader
	out, err   io.Writer
	quiet      bool
	asks       bool // the input counts as a terminal
	limits     limit.Limits
	unfinished *pipeline.Unfinished
	pictures   func() error            // closes the folder of the pictures, if one was opened
	opener     func(page string) error // opens a page in the browser; nil: that of the machine
}

// run runs the command and returns its exit status.
func run(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) int {
	return (&program{in: in, out: out, err: errOut, unfinished: new(pipeline.Unfinished)}).run(ctx, args)
}

func (p *program) run(ctx context.Context, args []string) (status int) {
	errOut := p.err
	defer func() {
		if p.pictures != nil {
			_ = p.pictures()
		}
		if fault := recover(); fault != nil {
			p.unfinished.Remove()
			fmt.Fprintf(errOut, "findslip: this is a fault of findslip and not of the file; please report it (%.200v)\n", fault)
			status = exitFailed
		}
	}()
	root := p.command()
	root.SetArgs(dropped(root, args))
	root.SetIn(p.in)
	root.SetOut(p.out)
	root.SetErr(errOut)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return exitWell
	case errors.Is(err, errNotices):
		return exitNotices
	case errors.Is(err, syscall.EPIPE):
		fmt.Fprintln(errOut, "findslip: whoever reads the output has stopped before its end")
		return exitFailed
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errOut, "findslip: stopped; nothing was left half written")
		return exitFailed
	}
	fmt.Fprintf(errOut, "findslip: %s\n", render.Clean(err.Error()))
	return exitFailed
}

func (p *program) command() *cobra.Command {
	root := described("findslip", &cobra.Command{
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
	})
	root.SetVersionTemplate("findslip {{.Version}}\n")
	root.PersistentFlags().Var((*limitValue)(&p.limits), "limit",
		"raise or lower what is read of a file: rows=2000000, expanded=1GiB, finds=none; see findslip limits")
	root.PersistentFlags().BoolVar(&p.quiet, "quiet", false, "say nothing but errors on standard error")
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return fmt.Errorf("%w; see findslip %s --help", err, c.Name())
	})
	root.AddCommand(p.withLeaks(p.checkCommand()), p.convertCommand(), p.columnsCommand(), p.templateCommand(),
		p.readCommand(), p.repairCommand(), p.shareCommand(), p.seasonCommand(), p.lookCommand(), p.packCommand(),
		p.receiveCommand(), p.unpackCommand(),
		p.rulesCommand(), p.limitsCommand(), p.explainCommand(), p.schemaCommand(), p.conformanceCommand())
	root.AddCommand(p.mergeCommand(), p.backupCommand(), p.forgetCommand(), p.profileCommand())
	if extra != nil {
		root.AddCommand(extra(root))
	}
	complete(root)
	return root
}

// extra makes one more command in a build that is made to write man pages; nil in all others.
var extra func(root *cobra.Command) *cobra.Command

// released is the version that a release was built as; empty for other builds.
var released string

// version is that of the release, else of the module, else of the format.
func version() string {
	if released != "" {
		return released
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return find.Version + "-dev"
}

// say writes talk to standard error unless it is to be quiet.
func (p *program) say(format string, args ...any) {
	if !p.quiet {
		fmt.Fprintln(p.err, render.Clean(fmt.Sprintf(format, args...)))
	}
}

// isTerminal reports whether w is a terminal that wants colour.
func isTerminal(w io.Writer) bool {
	f, ok := w.(interface{ Fd() uintptr })
	return ok && term.IsTerminal(int(f.Fd()))
}

// needs makes cobra's complaint about a wrong number of arguments one that helps.
func needs(least int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < least {
			return fmt.Errorf("%s needs %s; see findslip %s --help", c.Name(), what, c.Name())
		}
		return nil
	}
}

// complete tells the shell what may stand after the flags of all commands and after explain.
func complete(root *cobra.Command) {
	values := map[string][]string{
		"from": words(pipeline.Formats()), "to": words(pipeline.Formats()), "level": words(validate.Levels()),
		"for": words(share.Audiences()), "earlier": {pipeline.GoOn, pipeline.TellAgain, pipeline.Withhold},
		"report": {"text", "json", "html", "csv", "sarif"}, "date-order": {"dmy", "mdy", "ymd"}, "serial": {"1900", "1904"},
		"unit":    {"mm", "cm", "m", "in", "ft", "yd", "mg", "g", "kg", "gr", "oz", "ozt", "dwt", "lb"},
		"fail-on": {"error", "error,caution", "warning", "info", "caution", "never"},
	}
	for _, c := range root.Commands() {
		for name, list := range values {
			if c.Flags().Lookup(name) != nil && !(name == "to" && c.Flags().Lookup("for") != nil) {
				// fails only if there is one already
				_ = c.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(list, cobra.ShellCompDirectiveNoFileComp))
			}
		}
		if c.Name() == "explain" {
			c.ValidArgsFunction = func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
				var codes []string
				for _, k := range pipeline.Kinds() {
					codes = append(codes, k.Code+"\t"+k.Title)
				}
				return codes, cobra.ShellCompDirectiveNoFileComp
			}
		}
	}
}

// words returns the values as they are typed.
func words[T any](list []T) []string {
	var out []string
	for _, v := range list {
		out = append(out, fmt.Sprint(v))
	}
	return out
}

//go:embed commands.txt
var commandTexts string

// described puts the words of commands.txt on a command. Pairs are what stands in braces there, and what it stands for.
func described(name string, c *cobra.Command, pairs ...string) *cobra.Command {
	_, text, _ := strings.Cut(commandTexts, "\n== "+name+"\n")
	text, _, _ = strings.Cut(text, "\n\n== ")
	text = strings.NewReplacer(pairs...).Replace(text)
	head, rest, _ := strings.Cut(text, "\n\n")
	c.Use, c.Short, _ = strings.Cut(head, "\n")
	c.Long, c.Example, _ = strings.Cut(strings.TrimRight(rest, "\n"), "\n-- example\n")
	return c
}
