package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
)

// repairFlags are the options of repair.
type repairFlags struct {
	inputFlags
	out, accept, to, patch string
	force, plain, fill     bool
}

func (p *program) repairCommand() *cobra.Command {
	var f repairFlags
	c := described("repair", &cobra.Command{
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return f.repair(p, c, args) },
	})
	f.add(c)
	c.Flags().BoolVar(&f.fill, "fill", false,
		"propose what finds lack too: the class by the name, the age by the year on a coin, place and day by the pictures "+
			"of --pictures")
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.accept, "accept", "", "apply the accepted proposals of this file")
	c.Flags().StringVar(&f.patch, "patch", "",
		"keep what was applied as a JSON Patch (RFC 6902); only you can read the file")
	c.Flags().StringVar(&f.to, "to", "", "format to write (default: by the name of the file)")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&f.plain, "plain", false, "tables without the canonical columns")
	return c
}

func (f *repairFlags) repair(p *program, c *cobra.Command, args []string) error {
	o, err := f.options(p)
	if err != nil {
		return err
	}
	if f.out == "" {
		return fmt.Errorf("repair needs a file to write: -o PROPOSALS.json, or with --accept -o OUT")
	}
	if f.out != "-" {
		if err := (pipeline.Output{Name: f.out, Force: f.force, Inputs: append(args[:1:1], f.accept)}).Check(); err != nil {
			return err
		}
	}
	if f.patch != "" {
		if err := canPatch(f.patch, f.accept, f.out, f.force, args); err != nil {
			return err
		}
	}
	if f.accept == "" && f.fill {
		return p.propose(c, args[0], f.out, f.force, o, repair.ProposeToFill)
	}
	if f.accept == "" {
		to, isJSON := pipeline.FormatOfName(f.out), strings.HasSuffix(strings.ToLower(f.out), ".json")
		if f.out != "-" && to != "" && !isJSON {
			return fmt.Errorf("%s: proposals are JSON, name them proposals.json; to write the log as %s, give --accept "+
				"PROPOSALS.json", f.out, to)
		}
		return p.propose(c, args[0], f.out, f.force, o, repair.Propose)
	}
	if o.To, err = targetOf(f.to, f.out); err != nil {
		return err
	}
	o.Plain = f.plain
	return p.applyProposals(c, args[0], f.accept, f.out, f.patch, f.force, o)
}

// canPatch tells before the work begins what would stop the patch from being kept at its end.
func canPatch(patch, accept, out string, force bool, inputs []string) error {
	switch {
	case accept == "":
		return fmt.Errorf("--patch keeps what was applied; give --accept PROPOSALS.json with it")
	case patch == "-":
		return fmt.Errorf("--patch needs the name of a file, for it holds what only you are to read")
	case filepath.Clean(patch) == filepath.Clean(out):
		return fmt.Errorf("--patch %s: this is the file of the finds; choose another name", patch)
	}
	return (pipeline.Output{Name: patch, Force: force, Inputs: append(inputs[:1:1], accept)}).Check()
}

func (p *program) propose(c *cobra.Command, name, out string, force bool, o pipeline.Options,
	make func(context.Context, string, pipeline.Options) (*repair.Proposals, error)) error {
	proposals, err := make(c.Context(), name, o)
	if err != nil {
		return err
	}
	write := func(w io.Writer) error { return proposals.Write(w) }
	if out == "-" {
		err = p.output(out, force, nil, write)
	} else {
		err = (pipeline.Output{Name: out, Force: force, Inputs: []string{name}, Private: true,
			Unfinished: p.unfinished}).Write(write)
	}
	if err != nil {
		return err
	}
	p.say("proposals: %d; none is applied. The file holds what was written, positions too: keep it to yourself",
		len(proposals.Proposals))
	if proposals.Unread > 0 {
		p.say("warning: %s of the source could not be read, and nothing is proposed for that; findslip check says where",
			counted(proposals.Unread, "piece"))
		return errNotices
	}
	return nil
}

func (p *program) applyProposals(c *cobra.Command, name, accept, out, patch string, force bool,
	o pipeline.Options) error {
	f, err := pipeline.OpenSide(accept)
	if err != nil {
		return fmt.Errorf("--accept: %w", err)
	}
	defer f.Close()
	proposals, err := repair.ReadProposals(f, p.limits)
	if err != nil {
		return fmt.Errorf("reading %s: %w", accept, err)
	}
	var r *repair.Repaired
	if err := p.output(out, force, []string{name, accept}, func(w io.Writer) (err error) {
		r, err = repair.Apply(c.Context(), name, proposals, w, o)
		return err
	}); err != nil {
		return err
	}
	if patch != "" {
		write := func(w io.Writer) error { return repair.WritePatch(w, r.Patch) }
		if err := (pipeline.Output{Name: patch, Force: force, Inputs: []string{name, accept}, Private: true,
			Unfinished: p.unfinished}).Write(write); err != nil {
			return err
		}
	}
	p.say("applied: %d of %d proposals", r.Applied, len(proposals.Proposals))
	p.say("before: %s", counts(r.Before))
	p.say("after:  %s", counts(r.After))
	return nil
}

// counts says how many notices a log has.
func counts(r *pipeline.Result) string {
	number := func(n int, what string) string {
		if n != 1 {
			what += "s"
		}
		return fmt.Sprintf("%d %s", n, what)
	}
	return number(r.Notices.Count(notice.Error), "error") + ", " + number(r.Notices.Count(notice.Warning), "warning") +
		fmt.Sprintf(", %d for information", r.Notices.Count(notice.Info))
}
