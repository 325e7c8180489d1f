package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

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
