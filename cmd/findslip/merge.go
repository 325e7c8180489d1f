package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/merge"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

// mergeFlags are the options of merge.
type mergeFlags struct {
	inputFlags
	out, accept, questions, pages, title, format string
	force, plain                                 bool
}

func (p *program) mergeCommand() *cobra.Command {
	var f mergeFlags
	c := described("merge", &cobra.Command{
		Args: needs(1, "the logs"),
		RunE: func(c *cobra.Command, args []string) error { return p.merge(c.Context(), args, f) },
	})
	f.add(c)
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.accept, "accept", "", "the file of questions with your decisions")
	c.Flags().StringVar(&f.questions, "questions", "",
		"file for the questions (default: beside OUT, with -questions.json in its name)")
	c.Flags().StringVar(&f.pages, "pages", "", "folder to make, with a page for the owner of each log")
	c.Flags().StringVar(&f.title, "title", "", "title of the log that is made")
	c.Flags().StringVar(&f.format, "to", "", "format to write (default: by the name of the file)")
	c.Flags().BoolVar(&f.force, "force", false, "replace files that are there")
	c.Flags().BoolVar(&f.plain, "plain", false, "tables without the canonical columns")
	return c
}

// prepare settles names and options before anything is read.
func (f *mergeFlags) prepare(p *program, args []string) (o merge.Options, read pipeline.Options, err error) {
	if f.out == "" {
		return o, read, fmt.Errorf("merge needs a file to write: -o OUT")
	}
	if read, err = f.inputFlags.options(p); err != nil {
		return o, read, err
	}
	if read.To, err = targetOf(f.format, f.out); err != nil {
		return o, read, err
	}
	read.Plain = f.plain
	o = merge.Options{Read: read, ReportID: f.reportID, Title: f.title}
	o.Read.ReportID = "" // that of the log that is made
	if f.questions == "" {
		if f.out == "-" {
			f.questions = f.accept
		} else {
			stem, _, _ := strings.Cut(filepath.Base(f.out), ".")
			f.questions = filepath.Join(filepath.Dir(f.out), stem+"-questions.json")
		}
	}
	if f.questions == "" {
		return o, read, fmt.Errorf("merge needs a file for its questions: --questions FILE")
	}
	inputs := append(args[:len(args):len(args)], f.accept)
	if f.out != "-" {
		if err := (pipeline.Output{Name: f.out, Force: f.force, Inputs: inputs}).Check(); err != nil {
			return o, read, err
		}
	}
	if f.accept == "" {
		return o, read, (pipeline.Output{Name: f.questions, Force: f.force, Inputs: args}).Check()
	}
	side, err := pipeline.OpenSide(f.accept)
	if err != nil {
		return o, read, fmt.Errorf("--accept: %w", err)
	}
	defer side.Close()
	if o.Decided, err = merge.ReadDecisions(side, p.limits); err != nil {
		return o, read, fmt.Errorf("--accept %s: %w", f.accept, err)
	}
	return o, read, nil
}

func (p *program) merge(ctx context.Context, args []string, f mergeFlags) error {
	o, write, err := f.prepare(p, args)
	if err != nil {
		return err
	}
	m, err := merge.Read(ctx, args, o)
	if err != nil {
		return err
	}
	// The file of questions is the program's and the person's in turn: it is written anew with what was decided.
	if err := (pipeline.Output{Name: f.questions, Force: true, Private: true, Unfinished: p.unfinished}).Write(
		m.Decisions.Write); err != nil {
		return err
	}
	p.sayMerged(m, f)
	if f.pages != "" {
		if err := p.mergePages(ctx, m, f); err != nil {
			return err
		}
	}
	if m.Open > 0 {
		p.say("%s to be decided before %s can be written: look in %s for \"open\": true, write your choice into "+
			"\"decision\", then give the file back with --accept %s",
			counted(m.Open, "contradiction"), render.Clean(f.out), render.Clean(f.questions), render.Clean(f.questions))
		return errNotices
	}
	err = p.output(f.out, f.force, append(args[:len(args):len(args)], f.accept), func(w io.Writer) error {
		return pipeline.Encode(w, m.Stream(ctx).Until(ctx), write)
	})
	if err != nil {
		return err
	}
	finds := 0
	for _, s := range m.Decisions.Sources {
		finds += s.Taken
	}
	p.say("%s of %s in %s; %d people, %d fields, %d outings. Look through it: findslip check %s", counted(finds, "find"),
		counted(len(m.Decisions.Sources), "log"), render.Clean(f.out), len(m.Report.People), len(m.Report.Permissions),
		len(m.Report.Outings), render.Clean(f.out))
	return nil
}

// sayMerged says who sent what, and what is asked.
func (p *program) sayMerged(m *merge.Merged, f mergeFlags) {
	for i := range m.Decisions.Sources {
		p.say("%s", render.Clean(m.Decisions.Sources[i].String()))
	}
	for i, text := range m.Lost {
		if i == 20 {
			p.say("  and %d more", len(m.Lost)-i)
			break
		}
		p.say("not in the log that is made: %s", render.Clean(text))
	}
	if m.Audiences() {
		p.say("warning: the logs were made for different audiences; what is made of them holds more than some of these may " +
			"see: it is for you alone")
	}
	if folders := m.Folders(); len(folders) > 0 {
		p.say("two logs name one picture; the pictures of each log have a folder now: %s",
			render.Clean(strings.Join(folders, "; ")))
	}
	if m.Unasked > 0 {
		p.say("warning: %s more look alike and are not asked about; they stay what they are", counted(m.Unasked, "pair"))
	}
	if len(m.Stale) > 0 {
		p.say("warning: %s no longer fit, for the logs say something else now: %s", counted(len(m.Stale), "decision"),
			render.Clean(strings.Join(m.Stale[:min(len(m.Stale), 10)], ", ")))
	}
	united, asked := 0, 0
	for i := range m.Decisions.Questions {
		switch q := &m.Decisions.Questions[i]; {
		case q.Open:
		case q.Decision == "":
			asked++
		default:
			united++
		}
	}
	if united+asked > 0 {
		p.say("%s: %d settled or proposed, %d left as they are until you say otherwise", render.Clean(f.questions), united,
			asked)
	}
}

// mergePages writes a page for the owner of each log.
func (p *program) mergePages(ctx context.Context, m *merge.Merged, f mergeFlags) error {
	made, err := newPictureFolder(f.pages)
	if err != nil {
		return fmt.Errorf("--pages: %w", err)
	}
	defer made.discard()
	pages, err := m.Pages(ctx, "findslip "+version())
	if err != nil {
		return err
	}
	for _, page := range pages {
		if err := made.save(page.Name, page.HTML); err != nil {
			return err
		}
	}
	if err := made.keep(); err != nil {
		return err
	}
	p.say("%s in %s, one for the owner of each log", counted(len(pages), "page"), render.Clean(f.pages))
	return nil
}
