package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/upgrade"
)

func (p *program) upgradeCommand() *cobra.Command {
	var out, to, fail, notices string
	var force bool
	c := &cobra.Command{
		Use:   "upgrade IN -o OUT",
		Short: "Bring a report of an earlier version of the format to this one",
		Long: `upgrade reads a JSON report of version 1.x or of the draft ` + upgrade.Draft + `, and writes it as version ` + find.Version + `. It says each
change and changes nothing else; what it cannot carry over without a guess stays under its old name.
The report that it reads is never replaced.

Exit status: 0 all well, 1 written, but there are notices that --fail-on names, 2 not written.`,
		Example: `  findslip upgrade old.findslip.json -o season.findslip.json
  findslip upgrade - -o - --to findslip <old.findslip.json`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			set, err := parseFailOn(fail)
			if err != nil {
				return err
			}
			if out == "" {
				return fmt.Errorf("upgrade needs a file to write: -o OUT, or -o - for standard output")
			}
			o := pipeline.Options{Stdin: p.in, Unfinished: p.unfinished, Limits: p.limits}
			if o.To, err = targetOf(to, out); err != nil {
				return err
			}
			if out != "-" {
				if err := (pipeline.Output{Name: out, Force: force, Inputs: args}).Check(); err != nil {
					return err
				}
			}
			if notices != "" {
				if err := canKeep(notices, out, force, args); err != nil {
					return err
				}
			}
			var r *pipeline.Upgraded
			if err := p.output(out, force, args, func(w io.Writer) (err error) {
				r, err = pipeline.Upgrade(c.Context(), args[0], w, o)
				return err
			}); err != nil {
				return err
			}
			return p.afterUpgrade(r, notices, force, args, set)
		},
	}
	c.Flags().StringVarP(&out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&to, "to", "", "format to write: findslip or jsonl (default: by the name of the file)")
	c.Flags().BoolVar(&force, "force", false, "replace a file that is there, but never the one that is read")
	c.Flags().StringVar(&notices, "notices", "", "keep the notices in a JSON file")
	c.Flags().StringVar(&fail, "fail-on", "error", "what makes the exit status 1: error, warning, info, caution, a set, or never")
	return c
}

// afterUpgrade tells what was changed.
func (p *program) afterUpgrade(r *pipeline.Upgraded, notices string, force bool, inputs []string, set failOn) error {
	doc := render.Document{Tool: "findslip " + version(), Finds: r.Finds, Notices: r.Notices}
	if notices != "" {
		if err := (pipeline.Output{Name: notices, Force: force, Inputs: inputs, Unfinished: p.unfinished}).Write(func(w io.Writer) error { return render.JSON(w, doc) }); err != nil {
			return err
		}
	}
	if !p.quiet {
		if err := render.Text(p.err, doc, render.TextOptions{Colour: isTerminal(p.err) && os.Getenv("NO_COLOR") == ""}); err != nil {
			return err
		}
	}
	if r.From != upgrade.Draft {
		p.say("the report is of version %s already; it was written as it is", r.From)
	}
	if set.fails(r.Notices) {
		return errNotices
	}
	return nil
}
