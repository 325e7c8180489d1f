package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

func (p *program) columnsCommand() *cobra.Command {
	var in inputFlags
	var out string
	var force bool
	c := &cobra.Command{
		Use:   "columns IN [-o MAP.json]",
		Short: "Show what each heading of a spreadsheet was taken for",
		Long: `columns shows what each heading was taken for, how surely, and what was not understood.
With -o it writes a column map: edit it and give it back with --columns. The map also keeps an
id for the report, so that every later conversion of the same log gives the same ids.`,
		Example: `  findslip columns season.xlsx
  findslip columns season.xlsx -o map.json
  findslip convert season.xlsx --columns map.json -o season.findslip.json`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o, err := in.options(p)
			if err != nil {
				return err
			}
			m, list, err := pipeline.Columns(c.Context(), args[0], o)
			if err != nil {
				return err
			}
			for i := range list {
				p.say("%s: %s: %s", list[i].Kind.Severity, list[i].Place(), render.Clean(list[i].Message))
			}
			if out == "" {
				return p.showColumns(m)
			}
			return p.output(out, force, args, func(w io.Writer) error { return spreadsheet.WriteMap(w, m) })
		},
	}
	in.add(c)
	c.Flags().StringVarP(&out, "output", "o", "", "write a column map to this file, - for standard output")
	c.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	return c
}

func (p *program) showColumns(m *spreadsheet.ColumnMap) error {
	w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "COLUMN\tHEADING\tTAKEN FOR\tHOW\tSTATES")
	for _, c := range m.Columns {
		field := c.Field
		if field == "" {
			field = "not understood; kept as it is"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", c.Column, render.Clean(c.Heading), field, c.Taken, strings.TrimSpace(strings.Join([]string{c.Unit, c.Order, c.System}, " ")))
	}
	return w.Flush()
}

func (p *program) templateCommand() *cobra.Command {
	var t spreadsheet.TemplateOptions
	var out string
	var force bool
	c := &cobra.Command{
		Use:   "template -o FILE.xlsx",
		Short: "Make a workbook to fill in",
		Long: `template writes a workbook with the twelve columns a hobbyist needs, drop-down lists and an
example row that is never read as a find. --full has every common column.`,
		Example: "  findslip template -o season.xlsx --unit in",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if out == "" {
				return fmt.Errorf("template needs a file to write: -o FILE.xlsx")
			}
			return p.output(out, force, nil, func(w io.Writer) error { return spreadsheet.Template(w, t) })
		},
	}
	c.Flags().StringVarP(&out, "output", "o", "", "workbook to write")
	c.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&t.Full, "full", false, "every common column")
	c.Flags().StringVar(&t.Unit, "unit", "cm", "unit of the depth column: cm or in")
	c.Flags().StringVar(&t.Language, "language", "en", "language of the headings: en, de, nl, da, fr or sv")
	return c
}
