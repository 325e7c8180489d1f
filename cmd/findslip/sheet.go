package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

func (p *program) columnsCommand() *cobra.Command {
	var in inputFlags
	var profiles []string
	var out string
	var force, ask bool
	c := described("columns", &cobra.Command{
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o, err := in.options(p)
			if err == nil {
				err = p.profiles(profiles, "", &o)
			}
			if err != nil {
				return err
			}
			if ask {
				return p.ask(c, args[0], out, force, o)
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
			return p.publish(out, force, args, func(w io.Writer) error { return spreadsheet.WriteMap(w, m) })
		},
	})
	in.add(c)
	addProfile(c, &profiles)
	c.Flags().StringVarP(&out, "output", "o", "", "write the reading plan to this file, - for standard output")
	c.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&ask, "ask", false,
		"ask what the log leaves open, and keep the answers in a settings file beside it")
	return c
}

// showColumns prints the reading plan for people.
func (p *program) showColumns(m *spreadsheet.ColumnMap) error {
	for i, t := range m.Tables {
		if i > 0 {
			fmt.Fprintln(p.out)
		}
		fmt.Fprintln(p.out, planLine(t))
		w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "COLUMN\tHEADING\tTAKEN FOR\tHOW\tSURE\tSTATES\tSAMPLES")
		for _, c := range t.Columns {
			field := c.Field
			if field == "" {
				field = "kept under its heading"
			}
			if c.Find > 0 {
				field += fmt.Sprintf(", find %d", c.Find)
			}
			states := []string{c.Unit, c.Order, c.System}
			if c.Dittos > 0 {
				states = append(states, fmt.Sprintf("%d dittos", c.Dittos))
			}
			if c.Blanks {
				states = append(states, "blanks are the line above")
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", c.Column, render.Clean(strings.Join(strings.Fields(c.Heading), " ")),
				field, c.Taken, c.Sure,
				strings.Join(strings.Fields(strings.Join(states, " ")), " "), render.Clean(strings.Join(c.Samples, " | ")))
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	if len(m.Beside) > 0 {
		fmt.Fprintf(p.out, "\nSheets without finds: %s\n", render.Clean(strings.Join(m.Beside, ", ")))
	}
	return nil
}

// planLine says in a line what a table is and which rows of it are no finds.
func planLine(t spreadsheet.MapTable) string {
	var parts []string
	say := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	if t.Sheet != "" {
		say("Sheet %q", render.Clean(t.Sheet))
	}
	switch {
	case t.Row > 0:
		say("headings in row %d", t.Row)
	default:
		say("no headings")
	}
	if t.Read == "finds" {
		say("%d rows of finds", t.Finds)
	} else {
		say("no finds, kept as notes")
	}
	for _, rows := range []struct {
		name string
		list []int
	}{{"sections", t.Sections}, {"totals", t.Totals}, {"notes", t.Notes}} {
		if len(rows.list) > 0 {
			say("%s in rows %s", rows.name, shortList(rows.list))
		}
	}
	if t.InRow > 1 {
		say("up to %d finds in a row", t.InRow)
	}
	if t.Place != "" {
		say("all of the field %q", render.Clean(t.Place))
	}
	if t.Year > 0 {
		say("days without a year are of %d", t.Year)
	}
	if t.DateOrder != "" {
		say("days are %s", t.DateOrder)
	}
	return strings.Join(parts, "; ")
}

// shortList writes numbers out, the first ten of them.
func shortList(list []int) string {
	var out []string
	for i, n := range list {
		if i == 10 {
			out = append(out, fmt.Sprintf("and %d more", len(list)-10))
			break
		}
		out = append(out, fmt.Sprint(n))
	}
	return strings.Join(out, ", ")
}

func (p *program) templateCommand() *cobra.Command {
	var t spreadsheet.TemplateOptions
	var out, named string
	var force bool
	c := described("template", &cobra.Command{
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if out == "" {
				return fmt.Errorf("template needs a file to write: -o FILE.xlsx")
			}
			if named != "" {
				e, err := p.loadProfile(named)
				if err != nil {
					return err
				}
				if t.Profile = e; !c.Flags().Changed("language") {
					t.Language = e.Language()
				}
				if !slices.Contains(render.Languages(), t.Language) && slices.Contains(e.Languages, t.Language) {
					t.Language, t.Texts = "en", t.Language // its texts in their language, the rest in English
				}
			}
			return p.publish(out, force, nil, func(w io.Writer) error { return spreadsheet.Template(w, t) })
		},
	})
	c.Flags().StringVarP(&out, "output", "o", "", "workbook to write")
	c.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	c.Flags().StringVar(&named, "profile", "", "what a receiver asks, as a file NAME.findslip-profile.json")
	c.Flags().BoolVar(&t.Full, "full", false, "every common column")
	c.Flags().StringVar(&t.Unit, "unit", "cm", "unit of the depth column: cm or in")
	c.Flags().StringVar(&t.Language, "language", "en", "language of the headings: en, de, nl, da, fr or sv")
	return c
}

// ask asks in the terminal what a log leaves open, and writes the settings beside it.
func (p *program) ask(c *cobra.Command, name, out string, force bool, o pipeline.Options) error {
	if f, ok := p.in.(interface{ Fd() uintptr }); !p.asks && (!ok || !term.IsTerminal(int(f.Fd()))) {
		return errors.New("--ask asks in a terminal, and this is none; findslip columns IN -o PLAN.json writes a plan to " +
			"fill in")
	}
	if name == "-" {
		return errors.New("--ask needs a log that is a file: its settings lie beside it")
	}
	if out == "" {
		out = pipeline.SettingsName(name)
	}
	if err := (pipeline.Output{Name: out, Force: force, Inputs: []string{name}}).Check(); err != nil {
		return err
	}
	o.Beside = nil
	questions, s, err := pipeline.Questions(c.Context(), name, o)
	if err != nil {
		return err
	}
	if len(questions) == 0 {
		fmt.Fprintln(p.err, "The log leaves nothing open that can be stated for all of it.")
		return nil
	}
	fmt.Fprintf(p.err, "%s about %s. Enter leaves a question open.\n", counted(len(questions), "question"),
		render.Clean(pipeline.Base(name)))
	lines := bufio.NewReader(p.in)
	answered := 0
	for i := range questions {
		yes, err := p.question(lines, &questions[i], s)
		if err != nil {
			return err
		}
		if yes {
			answered++
		}
	}
	if answered == 0 {
		fmt.Fprintln(p.err, "No answer, so nothing was written.")
		return nil
	}
	if err := p.output(out, force, []string{name}, s.Write); err != nil {
		return err
	}
	fmt.Fprintf(p.err, "%s kept in %s, which is used from now on.\n", counted(answered, "answer"), render.Clean(out))
	return nil
}

// question asks until an answer can be kept or is left open.
func (p *program) question(lines *bufio.Reader, q *pipeline.Question, s *spreadsheet.Settings) (answered bool,
	err error) {
	fmt.Fprintf(p.err, "\n%s\n", render.Clean(q.Text))
	for i, a := range q.Answers {
		likely := ""
		if i == 0 && q.Likely {
			likely = "  (likely)"
		}
		fmt.Fprintf(p.err, "  %2d  %s: %s%s\n", i+1, render.Clean(a.Value), render.Clean(a.Words), likely)
	}
	for {
		fmt.Fprint(p.err, "> ")
		line, err := lines.ReadString('\n')
		text := strings.TrimSpace(line)
		if errors.Is(err, io.EOF) && text == "" {
			fmt.Fprintln(p.err)
			return false, nil
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return false, fmt.Errorf("reading the answer: %w", err)
		}
		if text == "" {
			return false, nil
		}
		value, ok := answerOf(q, text)
		if !ok {
			fmt.Fprintf(p.err, "Write a number from 1 to %d, or nothing.\n", len(q.Answers))
			continue
		}
		if err := q.Answer(s, value); err != nil {
			fmt.Fprintln(p.err, render.Clean(err.Error()))
			continue
		}
		return true, nil
	}
}

// answerOf returns what a person answered: by number, by what is kept, or in words of their own.
func answerOf(q *pipeline.Question, text string) (string, bool) {
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(q.Answers) {
		return q.Answers[n-1].Value, true
	}
	for _, a := range q.Answers {
		if strings.EqualFold(a.Value, text) || strings.EqualFold(a.Words, text) {
			return a.Value, true
		}
	}
	return text, q.Free
}
