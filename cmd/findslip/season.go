package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/render"
	year "github.com/findslip/findslip/pkg/season"
	"github.com/findslip/findslip/pkg/share"
)

// seasonFlags are the options of season.
type seasonFlags struct {
	inputFlags
	audience, receiver, out, format, year, language, policy, title string
	permissions, best                                              []string
	force                                                          bool
}

func (p *program) seasonCommand() *cobra.Command {
	var f seasonFlags
	c := described("season", &cobra.Command{
		Args: needs(1, "one or more logs"),
		RunE: func(c *cobra.Command, args []string) error { return p.season(c.Context(), args, f) },
	})
	f.add(c)
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write: .html, .json or .csv; - for standard output")
	c.Flags().StringVar(&f.format, "to", "", "html, json or csv (default: by the name of the file)")
	c.Flags().StringVar(&f.audience, "for", "",
		"self, partner, club, landowner, expert, recorder or public (default: to show, without places)")
	c.Flags().StringVar(&f.title, "title", "", "what stands above, such as the name of a club")
	c.Flags().StringVar(&f.receiver, "receiver", "", "the person or body that it is for")
	c.Flags().StringArrayVar(&f.permissions, "permission", nil, "for a landowner: the own land, by local id or name")
	c.Flags().StringVar(&f.policy, "policy", "", "make the table of leaves by audience stricter, from this JSON file")
	c.Flags().StringVar(&f.year, "year", "", "only this year, such as 2026 (default: all that the logs hold)")
	c.Flags().StringSliceVar(&f.best, "best", nil,
		"numbers of the finds to show, up to ten (default: those of which most is known)")
	c.Flags().StringVar(&f.language, "language", "en", "language of the page: en, de, nl, fr, da or sv")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	return c
}

func (p *program) season(ctx context.Context, logs []string, f seasonFlags) error {
	write, so, err := f.target(p)
	if err != nil {
		return err
	}
	o, err := f.options(p)
	if err != nil {
		return err
	}
	if so.Day = o.Read.AsOf.String(); o.Read.AsOf.IsZero() {
		so.Day = time.Now().Format(time.DateOnly)
	}
	so.Register = func(log string) *register.Register {
		kept, err := pipeline.OpenRegister(log, time.Now().UTC().Format(time.RFC3339), p.limits)
		if err != nil || kept.Fresh {
			return nil // no copy was handed out that it could be held against
		}
		return kept.Register
	}
	made, err := year.Of(ctx, logs, o, so)
	if err != nil {
		return err
	}
	put := p.publish
	if so.Audience != share.Public {
		put = p.output
	}
	if err := put(f.out, f.force, logs, func(w io.Writer) error { return write(made.Season, w, so.Day) }); err != nil {
		return err
	}
	p.saySeason(made, so.Audience)
	return nil
}

// target is what is to be written, and for whom.
func (f *seasonFlags) target(p *program) (write func(*year.Season, io.Writer, string) error, so year.Options,
	err error) {
	so = year.Options{Permissions: f.permissions, Receiver: f.receiver, Year: f.year, Best: f.best, Language: f.language,
		Title: f.title, Tool: "findslip " + version()}
	if f.out == "" {
		return nil, so, fmt.Errorf("season needs a file to write: -o season.html, .json or .csv, or -o - for standard output")
	}
	if so.Audience = year.Show; f.audience != "" {
		if so.Audience, err = share.ParseAudience(f.audience); err != nil {
			return nil, so, fmt.Errorf("--for: %w", err)
		}
	}
	if f.year != "" && !regexp.MustCompile(`^\d{4}$`).MatchString(f.year) {
		return nil, so, fmt.Errorf("--year %q is not a year of four digits", f.year)
	}
	if !slices.Contains(render.Languages(), f.language) {
		return nil, so, fmt.Errorf("--language %q is not one of %s", f.language, strings.Join(render.Languages(), ", "))
	}
	if so.Policy, err = readPolicy(f.policy, p.limits); err != nil {
		return nil, so, err
	}
	format := f.format
	if format == "" {
		format = strings.TrimPrefix(strings.ToLower(filepath.Ext(f.out)), ".")
	}
	switch format {
	case "html", "htm", "":
		return (*year.Season).HTML, so, nil
	case "json":
		return func(s *year.Season, w io.Writer, _ string) error { return s.JSON(w) }, so, nil
	case "csv":
		return func(s *year.Season, w io.Writer, _ string) error { return s.CSV(w) }, so, nil
	}
	return nil, so, fmt.Errorf("season writes html, json or csv, not %q", format)
}

// saySeason says what a person should know of the page.
func (p *program) saySeason(made *year.Made, a share.Audience) {
	if made.Unread > 0 {
		p.say("warning: %s could not be read and is not counted; findslip check says where", counted(made.Unread, "piece"))
	}
	for i, s := range made.Held {
		if i == 20 {
			p.say("  and %d more", len(made.Held)-i)
			break
		}
		p.say("held back: %s", render.Clean(s.String()))
	}
	if a == year.Show && made.Left > 0 {
		p.say("%s not shown, as in a public copy; --for self has all", counted(made.Left, "find"))
	}
	p.sayOut(made.Out, "left out of every list and figure")
	if made.Due > 0 && a == year.Show {
		p.say("%s may be due or is open; --for self lists them", counted(made.Due, "report to an authority or the landowner"))
	}
	whom := "for " + string(a)
	if a == year.Show {
		whom = "to show"
	}
	p.say("the season of %s %s; look at it before you hand it on", counted(made.Totals.Finds, "find"), whom)
}
