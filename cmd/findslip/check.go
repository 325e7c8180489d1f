package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
)

func (p *program) checkCommand() *cobra.Command {
	var in inputFlags
	var level, report, out, fail string
	var force bool
	c := &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what a careful recorder would ask about",
		Long: `check reads files of any format, normalises them in memory and says what is wrong,
doubtful or missing, at the sheet and cell it stands in. It changes nothing.

Exit status: 0 all well, 1 there are notices that --fail-on names, 2 a file could not be read.`,
		Example: `  findslip check season.xlsx
  findslip check --level full --report json season.findslip.json -o notices.json`,
		Args: needs(1, "a file"),
		RunE: func(c *cobra.Command, files []string) error {
			o, err := in.options(p)
			if err != nil {
				return err
			}
			if o.Level, err = validate.ParseLevel(level); err != nil {
				return fmt.Errorf("--level: %w", err)
			}
			set, err := parseFailOn(fail)
			if err != nil {
				return err
			}
			write, err := p.renderer(report)
			if err != nil {
				return err
			}
			if out != "" && out != "-" {
				if err := pipeline.CanWrite(out, force, files); err != nil {
					return err
				}
			}
			doc, failed := p.checkAll(c, files, o)
			if doc != nil {
				err = p.output(out, force, files, func(w io.Writer) error { return write(w, *doc) })
			}
			switch {
			case err != nil:
				return err
			case failed != nil:
				return failed
			case set.fails(doc.Notices):
				return errNotices
			}
			return nil
		},
	}
	in.add(c)
	c.Flags().StringVar(&level, "level", "log", "how much a record must say: bag, log or full")
	c.Flags().StringVar(&report, "report", "text", "form of the report: text, json, html, csv or sarif")
	c.Flags().StringVarP(&out, "output", "o", "", "write the report to a file")
	c.Flags().BoolVar(&force, "force", false, "replace the file named by --output")
	c.Flags().StringVar(&fail, "fail-on", "error", "what makes the exit status 1: error, warning, info, caution, a set such as error,caution, or never")
	return c
}

// checkAll checks each file. A file that cannot be read is told at once and does not stop the
// others; the last such error is returned.
func (p *program) checkAll(c *cobra.Command, files []string, o pipeline.Options) (*render.Document, error) {
	var doc *render.Document
	var failed error
	for _, name := range files {
		r, err := pipeline.Check(c.Context(), name, o)
		if err != nil {
			if failed != nil {
				fmt.Fprintf(p.err, "findslip: %v\n", failed)
			}
			failed = err
			continue
		}
		if doc == nil {
			doc = &render.Document{Tool: "findslip " + version(), AsOf: o.Read.AsOf.String(), Level: o.Level.String(),
				Met: map[string]int{}, NotChecked: map[string]int{}}
		}
		addResult(doc, r)
	}
	return doc, failed
}

// renderer returns the writer of a report in one form.
func (p *program) renderer(form string) (func(io.Writer, render.Document) error, error) {
	switch form {
	case "text":
		return func(w io.Writer, d render.Document) error {
			return render.Text(w, d, render.TextOptions{Colour: isTerminal(w) && os.Getenv("NO_COLOR") == ""})
		}, nil
	case "json":
		return render.JSON, nil
	case "csv":
		return render.CSV, nil
	case "html":
		return render.HTML, nil
	case "sarif":
		return render.SARIF, nil
	}
	return nil, fmt.Errorf("--report %q is not text, json, html, csv or sarif", form)
}

// output writes to a file beside its place, or to standard output.
func (p *program) output(name string, force bool, inputs []string, write func(io.Writer) error) error {
	if name == "" || name == "-" {
		return write(p.out)
	}
	return pipeline.WriteFile(name, force, inputs, write)
}
