package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

// ask asks in the terminal what a log leaves open, and writes the settings beside it.
func (p *program) ask(c *cobra.Command, name, out string, force bool, o pipeline.Options) error {
	if f, ok := p.in.(interface{ Fd() uintptr }); !p.asks && (!ok || !term.IsTerminal(int(f.Fd()))) {
		return errors.New("--ask asks in a terminal, and this is none; findslip columns IN -o PLAN.json writes a plan to fill in")
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
