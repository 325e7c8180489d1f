package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// checkFlags are the options of check beside those of reading.
type checkFlags struct {
	inputFlags
	level, rules, report, out, fail, mark, baseline string
	force, places, all                              bool
	language, notices                               string
	profiles                                        []string
	audience, letters                               string
	group                                           string
	refused                                         error // a profile or settings that could not be used
}

func (p *program) checkCommand() *cobra.Command {
	var f checkFlags
	c := described("check", &cobra.Command{
		Args: needs(1, "a file"),
		RunE: func(c *cobra.Command, files []string) error {
			err := p.check(c, files, &f)
			if f.refused == nil || err != nil && !errors.Is(err, errNotices) {
				return err
			}
			return f.refused
		},
	})
	f.add(c)
	addLevel(c, &f.level)
	addProfile(c, &f.profiles)
	c.Flags().StringVar(&f.letters, "letters", "",
		"with --profile, for the receiver: a folder for a letter to each sender")
	c.Flags().StringVar(&f.audience, "for", "",
		"with --profile: whose copy it would be, so that what they do not get is not counted as missing (default: recorder)")
	c.Flags().StringVar(&f.rules, "rules", "",
		"which rules are asked: all, default, codes, groups or severities; + adds and - takes away (+recorded-late, -depth)")
	c.Flags().StringVar(&f.report, "report", "text", "form of the report: text, json, html, csv or sarif")
	c.Flags().BoolVar(&f.all, "all", false, "tell every job and remark, not the first few")
	c.Flags().StringVar(&f.language, "language", "en",
		"language of text, HTML and marked workbook: "+strings.Join(render.Languages(), ", "))
	c.Flags().StringVar(&f.notices, "notices", "",
		"keep all notices in a file too: JSON, or JSON Lines where the name ends so")
	c.Flags().StringVarP(&f.out, "output", "o", "", "write the report to a file")
	c.Flags().StringVar(&f.mark, "mark", "",
		"write a copy of the workbook with marked cells, comments and a sheet of the notices (one XLSX file)")
	c.Flags().StringVar(&f.baseline, "baseline", "",
		"an earlier --report json to compare with: says what is new, unchanged and gone; all notices still count")
	c.Flags().BoolVar(&f.places, "with-places", false,
		"draw the finds on a plan in the HTML report; the page then tells where they were found")
	c.Flags().StringVar(&f.group, "plan-by", "material", "what the signs of the plan stand for: material or period")
	c.Flags().BoolVar(&f.force, "force", false, "replace the files named by --output and --mark")
	c.Flags().StringVar(&f.fail, "fail-on", "error,danger",
		"what makes the exit status 1: error, warning, info, danger, caution, a set such as error,caution, or never")
	return c
}

func (p *program) check(c *cobra.Command, files []string, f *checkFlags) error {
	o, err := p.checkOptions(c, files, f)
	if err != nil {
		return err
	}
	set, err := parseFailOn(f.fail)
	if err != nil {
		return err
	}
	if err := canSpeak(f.language, o.Profiles); err != nil {
		if f.refused == nil {
			return err
		}
		f.language, o.Language = "en", "en" // the profile that has it could not be used
	}
	if len(o.Profiles) > 0 && f.receives(files) {
		return p.received(c, files, f, o, set)
	}
	write, err := p.renderer(f.report, f.all)
	if err != nil {
		return err
	}
	if err := f.canWrite(files); err != nil {
		return err
	}
	before, err := readBaseline(f.baseline, p.limits)
	if err != nil {
		return err
	}
	watch, err := f.watchPlaces()
	if err != nil {
		return err
	}
	if f.wantsAll() {
		o.Spool = &notice.Spool{}
		defer o.Spool.Close()
	}
	o.Brief, o.Lines = o.Spool == nil, f.report == "sarif"
	clear := p.progress(&o)
	doc, failed := p.checkAll(c, files, o, watch)
	clear()
	if doc == nil {
		return failed
	}
	doc.Baseline, doc.Spool, doc.Language = before, o.Spool, f.language
	watch.draw(doc)
	if failed == nil && f.mark != "" {
		if err := p.markBook(c.Context(), f, files[0], doc); err != nil {
			return err
		}
	}
	if err := p.writeChecked(files, f, write, doc); err != nil {
		return err
	}
	if failed != nil {
		return failed
	}
	fails, err := set.failsNew(doc)
	if err == nil && fails {
		err = errNotices
	}
	return err
}

// writeChecked writes what was found: the notices to keep, and the report.
func (p *program) writeChecked(files []string, f *checkFlags, write func(io.Writer, render.Document) error,
	doc *render.Document) error {
	if f.notices != "" {
		if err := p.keepNotices(f.notices, f.force, files, doc); err != nil {
			return err
		}
	}
	return p.publish(f.out, f.force, files, func(w io.Writer) error { return write(w, *doc) })
}

// checkOptions are what is asked of the logs: a level or profiles, and the rules.
func (p *program) checkOptions(c *cobra.Command, files []string, f *checkFlags) (o pipeline.Options, err error) {
	if o, err = f.options(p); err != nil {
		return o, err
	}
	o.Language = f.language
	if c.Flags().Changed("level") {
		if o.Level, err = validate.ParseLevel(f.level); err != nil {
			return o, fmt.Errorf("--level: %w", err)
		}
	}
	if len(f.profiles) == 0 && len(files) == 1 && !c.Flags().Changed("level") {
		if name := pipeline.ProfileBeside(files[0], o); name != "" {
			f.profiles = []string{name}
		}
	}
	// What is said of danger does not wait for a profile or for settings: check goes on without those that are wrong.
	if f.refused, err = p.soundProfiles(f.profiles, f.audience, &o); err != nil {
		return o, err
	}
	if o.Beside != nil {
		o.Beside.Wrong = func(err error) {
			f.refused = errors.Join(f.refused, fmt.Errorf("%w; the log was checked without it", err))
		}
	}
	o.Bags = f.refused != nil
	if o.Rules = f.rules; o.Rules != "" {
		if _, err = validate.Select(f.rules); err != nil {
			return o, fmt.Errorf("--rules: %w", err)
		}
	}
	return o, nil
}

// wantsAll reports whether what is asked for holds every notice, not only groups with their first places.
func (f *checkFlags) wantsAll() bool {
	return f.report != "text" && f.report != "html" || f.notices != "" || f.mark != "" || f.baseline != ""
}

// keepNotices writes all notices into a file: as JSON Lines where its name says so, else as JSON.
func (p *program) keepNotices(name string, force bool, inputs []string, doc *render.Document) error {
	write := render.JSON
	if strings.HasSuffix(name, ".jsonl") || strings.HasSuffix(name, ".ndjson") {
		write = render.JSONL
	}
	return p.publish(name, force, inputs, func(w io.Writer) error { return write(w, *doc) })
}

// textOptions are those of a writer: colour and width of a terminal.
func (p *program) textOptions(w io.Writer, all bool) render.TextOptions {
	o := render.TextOptions{All: all, Colour: isTerminal(w) && os.Getenv("NO_COLOR") == ""}
	if file, ok := w.(*os.File); ok && isTerminal(w) {
		o.Width, _, _ = term.GetSize(int(file.Fd()))
	}
	return o
}

// canWrite says before the work begins what could not be written at its end.
func (f *checkFlags) canWrite(files []string) error {
	if f.mark != "" {
		if err := f.canMark(files); err != nil {
			return err
		}
	}
	if f.notices != "" {
		if err := canKeep(f.notices, f.out, f.force, files); err != nil {
			return err
		}
	}
	if f.out == "" || f.out == "-" {
		return nil
	}
	if f.out == f.mark {
		return errors.New("--output and --mark name the same file")
	}
	return (pipeline.Output{Name: f.out, Force: f.force, Inputs: files}).Check()
}

// readBaseline reads an earlier report, if one is named.
func readBaseline(name string, limits limit.Limits) (*render.Baseline, error) {
	if name == "" {
		return nil, nil
	}
	file, err := pipeline.OpenSide(name)
	if err != nil {
		return nil, fmt.Errorf("--baseline: %w", err)
	}
	defer file.Close()
	b, err := render.ReadBaseline(file, name, limits)
	if err != nil {
		return nil, fmt.Errorf("--baseline: %w", err)
	}
	return b, nil
}

// checkAll checks each file. A file that cannot be read is reported at once and does not stop the
// others; the last such error is returned.
func (p *program) checkAll(c *cobra.Command, files []string, o pipeline.Options, watch *placeWatch) (*render.Document,
	error) {
	var doc *render.Document
	o.Watch = watch.watcher()
	logs, failed := p.logs(c.Context(), files, o)
	for _, l := range logs {
		r, err := p.checkLog(c.Context(), l, o)
		if err != nil {
			if failed != nil {
				fmt.Fprintf(p.err, "findslip: %s\n", render.Clean(failed.Error()))
			}
			failed = err
			continue
		}
		if doc == nil {
			doc = &render.Document{Tool: "findslip " + version(), AsOf: o.Read.AsOf.String(), Level: o.AskedLevel(),
				NotChecked: map[string]int{}, Settings: changedSettings(o)}
		}
		watch.land(r.Report)
		addResult(doc, r, o.Language)
	}
	return doc, failed
}

func (p *program) checkLog(ctx context.Context, l pipeline.Log, o pipeline.Options) (*pipeline.Result, error) {
	in, err := pipeline.OpenLog(ctx, l, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return in.Check(ctx, o)
}

// renderer returns the writer of a report in one form.
func (p *program) renderer(form string, all bool) (func(io.Writer, render.Document) error, error) {
	switch form {
	case "text":
		return func(w io.Writer, d render.Document) error {
			return render.Text(w, d, p.textOptions(w, all))
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

// output writes what may hold exact places to a file for its owner alone, or to standard output.
func (p *program) output(name string, force bool, inputs []string, write func(io.Writer) error) error {
	return p.write(pipeline.Output{Name: name, Force: force, Inputs: inputs}, write)
}

// publish writes what holds no exact place to a file, or to standard output.
func (p *program) publish(name string, force bool, inputs []string, write func(io.Writer) error) error {
	return p.write(pipeline.Output{Name: name, Force: force, Inputs: inputs, Public: true}, write)
}

func (p *program) write(o pipeline.Output, write func(io.Writer) error) error {
	o.Unfinished = p.unfinished
	if o.Name == "" || o.Name == "-" {
		if err := (pipeline.Output{To: p.out, Unfinished: p.unfinished}).Write(write); err != nil {
			return fmt.Errorf("writing standard output: %w", err)
		}
		return nil
	}
	return o.Write(write)
}

// addResult adds the outcome of one file to a document.
func addResult(doc *render.Document, r *pipeline.Result, language string) {
	doc.Finds += r.Summary.Finds
	doc.Seen = append(doc.Seen, r.Seen)
	if doc.Groups == nil {
		doc.Groups = &notice.Groups{}
	}
	doc.Groups.Join(r.Groups)
	doc.Accepted.Add(r.Accepted...)
	doc.Deadlines = append(doc.Deadlines, r.Summary.Deadlines...)
	doc.Levels = render.Join(doc.Levels, pipeline.Receivers(r.Summary.Levels, language))
	doc.Asked = render.Join(doc.Asked, pipeline.Receivers(r.Summary.Asked, language))
	for code, n := range r.Summary.NotChecked {
		doc.NotChecked[code] += n
	}
	doc.Titles = titles(doc.NotChecked)
}

// titles names the rules that could not be applied.
func titles(codes map[string]int) map[string]string {
	out := map[string]string{}
	for _, r := range validate.Catalogue() {
		if codes[r.Code] > 0 {
			out[r.Code] = r.Title
		}
	}
	return out
}

// changedSettings lists the figures of rules that differ from their defaults.
func changedSettings(o pipeline.Options) []render.Setting {
	if o.Settings == nil {
		return nil
	}
	var out []render.Setting
	for _, x := range o.Settings.List() {
		if x.Changed() {
			out = append(out, render.Setting{Name: x.Name, Value: x.Value, Default: x.Default})
		}
	}
	if p := o.Settings.Protected; p != nil {
		out = append(out, render.Setting{Name: "protected", Value: p.String(), Default: "none"})
	}
	return out
}

// canMark says why a marked workbook could not be written.
func (f *checkFlags) canMark(files []string) error {
	switch {
	case len(files) != 1:
		return fmt.Errorf("--mark marks one workbook, and %d files were named; check them one by one", len(files))
	case files[0] == "-":
		return errors.New("--mark needs the name of a workbook, and standard input has none; save it as a file and name " +
			"the file")
	case f.mark == "-":
		return errors.New("--mark writes a workbook, which standard output cannot show; name a file, such as marked.xlsx")
	}
	return (pipeline.Output{Name: f.mark, Force: f.force, Inputs: files}).Check()
}

// markBook writes the sender's workbook with the notices in it.
func (p *program) markBook(ctx context.Context, f *checkFlags, name string, doc *render.Document) error {
	book, err := pipeline.OpenSide(name)
	if err != nil {
		return fmt.Errorf("--mark: %w", err)
	}
	defer book.Close()
	head := make([]byte, 4)
	if _, err := io.ReadFull(book, head); err != nil || string(head) != "PK\x03\x04" {
		return fmt.Errorf("--mark: %s is not an XLSX workbook; only such a workbook can be marked, for others choose "+
			"--report html", name)
	}
	if _, err := book.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("--mark: %w", err)
	}
	var done render.Marked
	err = (pipeline.Output{Name: f.mark, Force: f.force, Inputs: []string{name},
		Unfinished: p.unfinished}).Write(func(w io.Writer) (err error) {
		done, err = render.Mark(ctx, w, book, *doc, p.limits)
		return err
	})
	if err != nil {
		return fmt.Errorf("--mark: %w", err)
	}
	p.say("%s: %d cells filled, %d comments, all notices in the sheet %q", f.mark, done.Cells, done.Comments, done.Sheet)
	for _, left := range done.Left {
		p.say("%s: %s", f.mark, left)
	}
	return nil
}

// withLeaks gives check the flag --leaks, which makes it look for leaks instead of faults.
func (p *program) withLeaks(c *cobra.Command) *cobra.Command {
	var source, audience string
	check := c.RunE
	c.Flags().StringVar(&source, "leaks", "",
		"look through FILE, of any sort, for what this source has and the audience of FILE may not see; nothing else is "+
			"checked")
	c.Flags().StringVar(&audience, "leaks-for", "",
		"audience of FILE for --leaks (default: what the file states, else public)")
	c.RunE = func(c *cobra.Command, files []string) error {
		if source == "" {
			if audience != "" {
				return fmt.Errorf("--leaks-for needs the source: --leaks SOURCE.findslip.json")
			}
			return check(c, files)
		}
		o, err := readingOf(c).options(p)
		if err != nil {
			return err
		}
		var a share.Audience
		if audience != "" {
			if a, err = share.ParseAudience(audience); err != nil {
				return fmt.Errorf("--leaks-for: %w", err)
			}
		}
		return p.checkLeaks(c.Context(), files, source, a, o)
	}
	return c
}

// readingOf returns the options of reading that were given to a command.
func readingOf(c *cobra.Command) *inputFlags {
	var f inputFlags
	for name, to := range map[string]*string{"date-order": &f.dateOrder, "unit": &f.unit, "system": &f.system,
		"serial":  &f.serial,
		"columns": &f.columns, "sheet": &f.sheet, "encoding": &f.encoding, "as-of": &f.asOf, "report-id": &f.reportID} {
		if flag := c.Flags().Lookup(name); flag != nil {
			*to = flag.Value.String()
		}
	}
	return &f
}

// checkLeaks looks through files of any sort, pictures too, for what the source has and their
// audience may not see, tells it and returns errNotices where it finds something. The audience is
// a, else the one a file states, else the public.
func (p *program) checkLeaks(ctx context.Context, files []string, source string, a share.Audience,
	o pipeline.Options) error {
	any, blind := false, 0
	search, err := pipeline.OpenLeaks(ctx, source, o)
	if err != nil {
		return err
	}
	defer search.Close()
	for _, name := range files {
		looked, audience, err := search.Look(ctx, name, a)
		if err != nil {
			return err
		}
		for _, text := range looked.Unread {
			blind++
			p.say("%s: could not be looked into: %s", name, render.Clean(text))
		}
		switch {
		case len(looked.Leaks)+len(looked.Beyond) > 0:
			any = true
			fmt.Fprintf(p.out, "%s: gives away what %s may not see\n", render.Clean(name), audience)
			p.listLeaks(p.out, looked.Leaks, search.Whose)
			for _, what := range looked.Beyond[:min(len(looked.Beyond), 20)] {
				fmt.Fprintf(p.out, "  not for %s, in the copy: %s\n", audience, render.Clean(what))
			}
		case len(looked.Unread) == 0 && looked.Compared:
			p.say("%s: looked for names, places, contacts, numbers and figures of %s, and for finds and members that the table"+
				" does not give %s: none is met. Words that tell a place, a day or a worth in another way are not known"+
				" here; read it before you hand it on", name, source, audience)
		case len(looked.Unread) == 0:
			p.say("%s: looked for names, places, contacts, numbers and figures of %s: none is met. It is not read as a find"+
				" report, so that its finds, days and weights were not compared with what %s may have; read it before"+
				" you hand it on", name, source, audience)
		}
	}
	switch {
	case blind > 0:
		return fmt.Errorf("%s could not be looked into, so that nobody can say whether something stands there",
			counted(blind, "part"))
	case any:
		return errNotices
	}
	return nil
}

// listLeaks tells leaks by kind and by the owner's find and field.
func (p *program) listLeaks(w io.Writer, list []share.Leak, whose func(share.Leak) string) {
	for i, l := range list {
		if i == 20 {
			fmt.Fprintf(w, "  and %d more\n", len(list)-i)
			return
		}
		fmt.Fprintf(w, "  %s%s\n", render.Clean(l.String()), render.Clean(whose(l)))
	}
}
