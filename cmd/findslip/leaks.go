package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// withLeaks gives check the flag --leaks, which makes it look for leaks instead of faults.
func (p *program) withLeaks(c *cobra.Command) *cobra.Command {
	var source, audience string
	check := c.RunE
	c.Flags().StringVar(&source, "leaks", "",
		"look through FILE, of any sort, for what this source has and the audience of FILE may not see; nothing else is checked")
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
		case len(looked.Leaks) > 0:
			any = true
			fmt.Fprintf(p.out, "%s: gives away what %s may not see\n", render.Clean(name), audience)
			p.listLeaks(p.out, looked.Leaks, search.Whose)
		case len(looked.Unread) == 0:
			p.say("%s: nothing is found that %s may not see; read it before you hand it on", name, audience)
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
