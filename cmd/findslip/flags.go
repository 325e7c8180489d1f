package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

// readingFlags are the options of everything that reads what people wrote.
type readingFlags struct {
	dateOrder, unit, system, serial string
	pivot                           int
}

func (f *readingFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.dateOrder, "date-order", "",
		"order of day, month and year where nothing proves it: dmy, mdy or ymd")
	c.Flags().StringVar(&f.unit, "unit", "", "unit of lengths or weights that state none: in, cm, mm, g, ...")
	c.Flags().StringVar(&f.system, "system", "", "grid of bare eastings and northings: EPSG:27700, ...")
	c.Flags().IntVar(&f.pivot, "pivot", 0, "first year that two digits may mean: 1950 is 1950 to 2049")
	c.Flags().StringVar(&f.serial, "serial", "", "read bare numbers as spreadsheet dates of this system: 1900 or 1904")
}

func (f *readingFlags) options() (normalise.Options, error) {
	var o normalise.Options
	var err error
	if o.Order, err = edtf.ParseOrder(f.dateOrder); err != nil {
		return o, fmt.Errorf("--date-order %q is not dmy, mdy or ymd", f.dateOrder)
	}
	if f.unit != "" {
		if o.Unit, err = quantity.ParseUnit(f.unit); err != nil {
			return o, fmt.Errorf("--unit %q is not one of mm, cm, m, in, ft, yd, mg, g, kg, gr, oz, ozt, dwt, lb", f.unit)
		}
	}
	if f.system != "" {
		s, ok := coordinate.SystemByCode(f.system)
		if !ok {
			return o, fmt.Errorf("--system %q is not a reference system that is known here, such as EPSG:27700", f.system)
		}
		o.System = s.Code
	}
	if f.pivot != 0 && (f.pivot < 1000 || f.pivot > 3000) {
		return o, fmt.Errorf("--pivot %d is not a year of four digits", f.pivot)
	}
	o.Pivot = f.pivot
	if o.Serial, err = edtf.ParseEpoch(f.serial); err != nil {
		return o, fmt.Errorf("--serial %q is not 1900 or 1904", f.serial)
	}
	return o, nil
}

// inputFlags are the options of check and convert.
type inputFlags struct {
	readingFlags
	from, columns, sheet, encoding, asOf, reportID, pictures, protected string
	language                                                            string
	settings                                                            []string
	noSettings                                                          bool
	settingsFile                                                        string
}

func (f *inputFlags) add(c *cobra.Command) {
	f.readingFlags.add(c)
	c.Flags().StringVar(&f.from, "from", "",
		"format of the input: findslip, jsonl, geojson, xlsx, csv, tables, gpx or kml (default: by name, else by content)")
	c.Flags().StringVar(&f.language, "log-language", "",
		"language of the words in the log where it is not said, such as de: "+strings.Join(lexicon.Tags(), ", "))
	c.Flags().StringVar(&f.columns, "columns", "", "column map, as written by findslip columns")
	c.Flags().StringVar(&f.sheet, "sheet", "", "name of the sheet that holds the finds")
	c.Flags().StringVar(&f.encoding, "encoding", "", "encoding of a CSV file (default: found by itself)")
	c.Flags().StringVar(&f.asOf, "as-of", "", "the day that counts as today, such as 2026-04-12 (default: today)")
	c.Flags().StringArrayVar(&f.settings, "setting", nil,
		"change a figure that rules compare with: plough-depth=25 (schema/spec/lookup/settings.md)")
	c.Flags().StringVar(&f.pictures, "pictures", "",
		"folder that the pictures named in the report lie in (default: not looked at)")
	c.Flags().StringVar(&f.protected, "protected", "",
		"GeoJSON file of protected areas, as the authority gives them out, to look whether finds lie in or near them "+
			"(default: not checked)")
	c.Flags().StringVar(&f.settingsFile, "settings", "",
		"settings file, as findslip columns --ask writes it (default: the one beside the log)")
	c.Flags().BoolVar(&f.noSettings, "no-settings", false, "do not use the settings file beside the log")
	c.Flags().StringVar(&f.reportID, "report-id", "", "id of the report where the input has none: urn:uuid:...")
}

// parameters reads the parameters of rules as name=number; nil without any.
func parameters(texts []string) (*validate.Settings, error) {
	if len(texts) == 0 {
		return nil, nil
	}
	s := validate.DefaultSettings()
	for _, text := range texts {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			return nil, fmt.Errorf("--setting %q is not of the form name=number", text)
		}
		if err := s.Set(strings.TrimSpace(name), strings.TrimSpace(value)); err != nil {
			return nil, fmt.Errorf("--setting: %w", err)
		}
	}
	return &s, nil
}

func (f *inputFlags) options(p *program) (pipeline.Options, error) {
	o := pipeline.Options{Stdin: p.in, Unfinished: p.unfinished, ReportID: f.reportID, Limits: p.limits}
	if f.noSettings && f.settingsFile != "" {
		return o, errors.New("--settings and --no-settings do not go together")
	}
	if !f.noSettings {
		o.Beside = &pipeline.Beside{File: f.settingsFile, Say: func(text string) { // even when it is to be quiet
			fmt.Fprintln(p.err, render.Clean(text))
		}}
	}
	var err error
	if o.Read, err = f.readingFlags.options(); err != nil {
		return o, err
	}
	if o.Read.Language = f.language; f.language != "" && lexicon.ByTag(f.language) == nil {
		return o, fmt.Errorf("--log-language %q is not one of %s", f.language, strings.Join(lexicon.Tags(), ", "))
	}
	day := f.asOf
	if day == "" {
		day = time.Now().Format(time.DateOnly)
	}
	if o.Read.AsOf, err = edtf.ParseDay(day); err != nil {
		return o, fmt.Errorf("--as-of %w", err)
	}
	if f.from != "" {
		if o.From, err = pipeline.ParseFormat(f.from); err != nil {
			return o, fmt.Errorf("--from: %w", err)
		}
	}
	if o.Settings, err = parameters(f.settings); err != nil {
		return o, err
	}
	if f.pictures != "" {
		if o.Files, p.pictures, err = pipeline.PictureFolder(f.pictures); err != nil {
			return o, fmt.Errorf("--pictures %w", err)
		}
	}
	if err := f.protect(p, &o); err != nil {
		return o, err
	}
	o.Table = spreadsheet.Options{Sheet: f.sheet, Encoding: f.encoding}
	if f.columns != "" {
		if o.Table.Map, err = readMap(f.columns, p.limits); err != nil {
			return o, err
		}
		if o.ReportID == "" {
			o.ReportID = o.Table.Map.ReportID
		}
	}
	return o, nil
}

// protect loads the protected areas, if a file of them is named.
func (f *inputFlags) protect(p *program, o *pipeline.Options) error {
	if f.protected == "" {
		return nil
	}
	file, err := pipeline.OpenSide(f.protected)
	if err != nil {
		return fmt.Errorf("--protected: %w", err)
	}
	defer file.Close()
	areas, passed, err := validate.ReadProtected(file, filepath.Base(f.protected), p.limits)
	if err != nil {
		return fmt.Errorf("--protected %s: %w", f.protected, err)
	}
	if passed > 0 {
		p.say("%s: what is no area was passed over (%d: points, lines, and outlines that cross themselves or are not in "+
			"degrees), and nothing is checked against it", f.protected, passed)
	}
	if o.Settings == nil {
		s := validate.DefaultSettings()
		o.Settings = &s
	}
	o.Settings.Protected = areas
	return nil
}

func readMap(name string, limits limit.Limits) (*spreadsheet.ColumnMap, error) {
	f, err := pipeline.OpenSide(name)
	if err != nil {
		return nil, fmt.Errorf("--columns: %w", err)
	}
	defer f.Close()
	m, err := spreadsheet.ReadMap(f, limits)
	if err != nil {
		return nil, fmt.Errorf("reading column map %s: %w", name, err)
	}
	return m, nil
}

// failOn is a set of things that make the command end with status 1.
type failOn struct {
	severity notice.Severity // this and graver; 0: none
	caution  bool            // law and safety
	danger   bool            // what can hurt somebody now, and human remains
	newly    bool            // beside danger, only what the report named by --baseline does not have
}

func parseFailOn(s string) (failOn, error) {
	var f failOn
	for part := range strings.SplitSeq(s, ",") {
		switch part = strings.TrimSpace(part); part {
		case "never":
			if s != "never" {
				return f, fmt.Errorf("--fail-on never stands alone")
			}
		case "caution":
			f.caution = true
		case "danger":
			f.danger = true
		case "new":
			f.newly = true
		default:
			severity, err := notice.ParseSeverity(part)
			if err != nil {
				return f, fmt.Errorf("--fail-on %q is not a set of error, warning, info, danger, caution and new, or never", s)
			}
			f.severity = max(f.severity, severity)
		}
	}
	return f, nil
}

func (f failOn) fails(k *notice.Kind) bool {
	return f.severity != 0 && k.Severity <= f.severity || f.caution && k.Caution || f.danger && k.Danger()
}

// failsAny reports whether any notice of a document makes the command end with status 1.
func (f failOn) failsAny(d *render.Document) bool { return d.CountIf(f.fails) > 0 }

// failsNew does the same where an earlier report may relax it: danger counts whether that had it or not.
func (f failOn) failsNew(d *render.Document) (bool, error) {
	if !f.newly || d.CountIf((*notice.Kind).Danger) > 0 {
		return f.failsAny(d), nil
	}
	n, err := d.NewIf(f.fails)
	return n > 0, err
}

// limitValue is the flag --limit NAME=N.
type limitValue limit.Limits

// Set takes one limit.
func (l *limitValue) Set(text string) error {
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return fmt.Errorf("%.40q is not of the form name=number; findslip limits lists the names", text)
	}
	return (*limit.Limits)(l).Set(strings.TrimSpace(name), strings.TrimSpace(value))
}

// String is the default as help shows it, which is nothing.
func (l *limitValue) String() string { return "" }

// Type is what help calls the value.
func (l *limitValue) Type() string { return "name=number" }

func (p *program) limitsCommand() *cobra.Command {
	return described("limits", &cobra.Command{
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "LIMIT\tDEFAULT\tBOUNDS")
			for _, l := range limit.All() {
				fmt.Fprintf(w, "%s\t%s\t%s\n", l.Name, l.Figure(l.Default), l.Bounds)
			}
			for _, l := range profile.Limits() { // which cannot be changed
				fmt.Fprintf(w, "%s\t%s\tof a profile; it cannot be raised\n", l[0], l[1])
			}
			return w.Flush()
		},
	})
}
