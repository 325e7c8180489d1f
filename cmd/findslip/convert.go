package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
)

// convertFlags are the options of convert.
type convertFlags struct {
	inputFlags
	to, out, fail, notices, delimiter, language, since string
	force, plain, bom, loss                            bool
	profiles                                           []string
}

func (p *program) convertCommand() *cobra.Command {
	var f convertFlags
	c := described("convert", &cobra.Command{
		Args: needs(1, "a file"),
		RunE: func(c *cobra.Command, args []string) error { return f.convert(p, c, args) },
	})
	f.add(c)
	addProfile(c, &f.profiles)
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.to, "to", "",
		"format to write: findslip, jsonl, geojson, xlsx, csv, tables, gpx, kml, jsonld or gpkg (default: by the name of "+
			"the file)")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&f.plain, "plain", false, "tables without the canonical columns")
	c.Flags().StringVar(&f.since, "since", "",
		"an earlier conversion of the same log: its ids are kept where the finds can be paired")
	c.Flags().BoolVar(&f.loss, "check-loss", false,
		"write nothing: convert there and back in memory and list every difference by find and field; status 1 if one is "+
			"not a loss that the format is known for")
	c.Flags().StringVar(&f.delimiter, "delimiter", "",
		"what stands between the cells of a CSV file: comma, semicolon or tab (default: comma)")
	c.Flags().BoolVar(&f.bom, "bom", false, "begin a CSV file with a byte order mark, for spreadsheets that need one")
	c.Flags().StringVar(&f.language, "language", "en", "language of the headings of a workbook: en, de, nl, da, fr or sv")
	c.Flags().StringVar(&f.notices, "notices", "",
		"keep all notices in a file: JSON, or JSON Lines where the name ends so")
	c.Flags().StringVar(&f.fail, "fail-on", "error",
		"what makes the exit status 1: error, warning, info, danger, caution, a set, or never")
	return c
}

func (f *convertFlags) convert(p *program, c *cobra.Command, args []string) error {
	o, err := f.options(p)
	if err == nil {
		err = p.profiles(f.profiles, "", &o)
	}
	if err != nil {
		return err
	}
	set, err := parseFailOn(f.fail)
	if err != nil {
		return err
	}
	if f.out == "" && !(f.loss && f.to != "") {
		return fmt.Errorf("convert needs a file to write: -o OUT, or -o - for standard output")
	}
	if o.To, err = targetOf(f.to, f.out); err != nil {
		return err
	}
	o.Level, o.Plain, o.Language, o.BOM, o.Delimiter, o.Since = validate.NoLevel, f.plain, f.language, f.bom, f.delimiter,
		f.since
	if slices.Contains(args, "-") && f.since == "-" {
		return errors.New("--since -: standard input is the file to convert already; save the earlier conversion to a file " +
			"and name that")
	}
	o.Bags = len(f.profiles) > 0 && holdsFolder(args)
	logs, err := p.logs(c.Context(), args, o)
	if err != nil {
		return err
	}
	came := len(logs)
	if o.Bags {
		logs = p.readable(c.Context(), logs, o)
	}
	if f.loss && len(logs) > 1 {
		return errors.New("--check-loss goes with one log; convert them to one report first")
	}
	if f.loss {
		return p.checkLoss(c, args[0], o, p.out)
	}
	if err = f.write(p, c.Context(), logs, o, set); came > len(logs) && (err == nil || errors.Is(err, errNotices)) {
		return fmt.Errorf("%d of %s could not be read; %s holds the others", came-len(logs), counted(came, "log"), f.out)
	}
	return err
}

// readable are the logs that can be read to their end. Of what came in one that cannot does not stop the others.
func (p *program) readable(ctx context.Context, logs []pipeline.Log, o pipeline.Options) (out []pipeline.Log) {
	o.To = pipeline.JSONL
	for _, l := range logs {
		in, err := pipeline.OpenLog(ctx, l, o)
		if err == nil {
			_, err = in.Convert(ctx, io.Discard, o)
			err = errors.Join(err, in.Close())
		}
		if err != nil && ctx.Err() == nil {
			p.say("left out, for it could not be read: %s: %s", render.Clean(l.Source), render.Clean(err.Error()))
			continue
		}
		out = append(out, l)
	}
	return out
}

// write writes the logs as one report, and says what it could not hold.
func (f *convertFlags) write(p *program, ctx context.Context, logs []pipeline.Log, o pipeline.Options,
	set failOn) error {
	inputs := namesOf(logs)
	if f.since != "" {
		inputs = append(inputs, f.since)
	}
	if f.out != "-" {
		if err := (pipeline.Output{Name: f.out, Force: f.force, Inputs: inputs}).Check(); err != nil {
			return err
		}
	}
	if f.notices != "" {
		if err := canKeep(f.notices, f.out, f.force, inputs); err != nil {
			return err
		}
		o.Spool = &notice.Spool{}
		defer o.Spool.Close()
	}
	o.Brief = o.Spool == nil
	var r *pipeline.Result
	clear := p.progress(&o)
	err := p.output(f.out, f.force, inputs, func(w io.Writer) (err error) {
		in, err := pipeline.OpenLogs(ctx, logs, o)
		if err != nil {
			return err
		}
		defer in.Close()
		r, err = in.Convert(ctx, w, o)
		return err
	})
	clear()
	if err != nil {
		return err
	}
	return p.afterConvert(r, o, f.notices, f.force, inputs, set)
}

// logs returns what the names stand for, and says what in a folder is no log.
func (p *program) logs(ctx context.Context, names []string, o pipeline.Options) ([]pipeline.Log, error) {
	logs, passed, err := pipeline.Logs(ctx, names, o)
	if err != nil {
		return nil, err
	}
	if len(passed) > 0 {
		pictures := ""
		if o.Files == nil && slices.ContainsFunc(passed, picture.IsName) {
			pictures = "; to look at the pictures too: --pictures FOLDER"
		}
		p.say("not read, for they are no logs: %s%s", render.Clean(someOf(passed)), pictures)
	}
	return logs, nil
}

// someOf writes the first names of a list out.
func someOf(names []string) string {
	if len(names) > 10 {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:10], ", "), len(names)-10)
	}
	return strings.Join(names, ", ")
}

// namesOf returns the files that logs are in.
func namesOf(logs []pipeline.Log) []string {
	var names []string
	for _, l := range logs {
		if !slices.Contains(names, l.Name) {
			names = append(names, l.Name)
		}
	}
	return names
}

// canKeep tells before the work begins what would stop the notices from being kept at its end.
func canKeep(notices, out string, force bool, inputs []string) error {
	if filepath.Clean(notices) == filepath.Clean(out) {
		return fmt.Errorf("--notices %s: this is the file of the finds; choose another name", notices)
	}
	return (pipeline.Output{Name: notices, Force: force, Inputs: inputs}).Check()
}

func targetOf(to, out string) (pipeline.Format, error) {
	if to != "" {
		f, err := pipeline.ParseFormat(to)
		if err != nil {
			return "", fmt.Errorf("--to: %w", err)
		}
		return f, nil
	}
	if f := pipeline.FormatOfName(out); f != "" {
		return f, nil
	}
	return "", fmt.Errorf("the name %q does not tell the format to write: say it with --to", out)
}

// afterConvert tells the notices and what was lost.
func (p *program) afterConvert(r *pipeline.Result, o pipeline.Options, notices string, force bool, inputs []string,
	set failOn) error {
	doc := render.Document{Tool: "findslip " + version(), AsOf: o.Read.AsOf.String(),
		NotChecked: map[string]int{}, Settings: changedSettings(o)}
	addResult(&doc, r, o.Language)
	doc.Asked, doc.Spool = nil, o.Spool
	if notices != "" {
		if err := p.keepNotices(notices, force, inputs, &doc); err != nil {
			return err
		}
	}
	if !p.quiet {
		short := p.textOptions(p.err, false)
		short.Short = true
		if err := render.Text(p.err, doc, short); err != nil {
			return err
		}
		for _, l := range r.Lost {
			p.say("warning: %s cannot hold %s (%d)", o.To, l.Field, l.Times)
		}
	}
	if set.failsAny(&doc) {
		return errNotices
	}
	return nil
}

// checkLoss converts there and back in memory and lists what differs, by find and field. It writes
// no file.
func (p *program) checkLoss(c *cobra.Command, name string, o pipeline.Options, out io.Writer) error {
	r, err := pipeline.CheckLoss(c.Context(), name, o)
	if err != nil {
		return err
	}
	for _, d := range r.Differences {
		place := d.Part
		if d.Record != "" {
			place += " " + d.Record
		}
		if d.Field != "" {
			place += ": " + d.Field
		}
		why := "not listed"
		if d.Listed != "" {
			why = "listed: " + d.Listed
		}
		if _, err := fmt.Fprintf(out, "%s: %s (%s)\n", render.Clean(place), d.What, why); err != nil {
			return err
		}
	}
	for _, l := range r.Lost {
		p.say("warning: %s cannot hold %s (%d)", o.To, l.Field, l.Times)
	}
	p.say("%s there and back: %d differences, %d of them listed nowhere", o.To, len(r.Differences), r.Unlisted())
	if r.Unlisted() > 0 {
		return errNotices
	}
	return nil
}
