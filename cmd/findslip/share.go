package main

import (
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
)

func (p *program) shareCommand() *cobra.Command {
	var in inputFlags
	var audience, to, out, key string
	var permissions []string
	var force, plain, stamp bool
	c := &cobra.Command{
		Use:   "share IN --for AUDIENCE -o OUT",
		Short: "Make a copy for one audience, with a leak check",
		Long: `share makes a copy that holds only what an audience may see: partner, landowner, expert,
recorder or public. Places are made coarser on a fixed grid, which the record says; what is taken
away is named as withheld. The finished bytes are looked through for what was taken away: a leak
stops the export, is told by kind and member, and nothing is written.

No check finds everything: read the copy before you hand it on.`,
		Example: `  findslip share season.findslip.json --for public -o public.geojson
  findslip share season.xlsx --for landowner --permission permission-1 -o farmer.xlsx`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o, err := in.options(p)
			if err != nil {
				return err
			}
			if out == "" {
				return fmt.Errorf("share needs a file to write: -o OUT, or -o - for standard output")
			}
			if o.To, err = targetOf(to, out); err != nil {
				return err
			}
			o.Plain = plain
			s := share.Options{Permissions: permissions}
			if s.Audience, err = share.ParseAudience(audience); err != nil {
				return fmt.Errorf("--for: %w", err)
			}
			if stamp {
				s.Changed = time.Now().UTC().Format(time.RFC3339)
			}
			for _, name := range []string{out, key} {
				if name != "" && name != "-" {
					if err := pipeline.CanWrite(name, force, args); err != nil {
						return err
					}
				}
			}
			r, err := pipeline.Share(c.Context(), args[0], o, s)
			if err != nil {
				return err
			}
			if len(r.Leaks) > 0 {
				return p.leaks(r.Leaks)
			}
			if key != "" {
				if err := p.writeKey(key, force, args, r); err != nil {
					return err
				}
			}
			if err := p.output(out, force, args, func(w io.Writer) error { _, err := w.Write(r.Data); return err }); err != nil {
				return err
			}
			p.say("a copy of %d finds for %s; %d finds left out; read it before you hand it on", len(r.Copy.Report.Finds), s.Audience, r.Left)
			return nil
		},
	}
	in.add(c)
	c.Flags().StringVar(&audience, "for", "", "partner, landowner, expert, recorder or public")
	c.Flags().StringArrayVar(&permissions, "permission", nil, "local id of a permission of the landowner's own land")
	c.Flags().StringVarP(&out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&to, "to", "", "format to write (default: by the name of the file)")
	c.Flags().StringVar(&key, "key", "", "keep the way back from the new ids of a public copy in this file; never hand it on")
	c.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&plain, "plain", false, "tables without the canonical columns")
	c.Flags().BoolVar(&stamp, "stamp", false, "say in the copy when it was made")
	_ = c.MarkFlagRequired("for")
	return c
}

// leaks tells what leaks and ends the command with status 1.
func (p *program) leaks(list []share.Leak) error {
	fmt.Fprintf(p.err, "findslip: the copy would give away what its audience may not see; nothing was written\n")
	for i, l := range list {
		if i == 20 {
			fmt.Fprintf(p.err, "  and %d more\n", len(list)-i)
			break
		}
		fmt.Fprintf(p.err, "  %s\n", l)
	}
	fmt.Fprintf(p.err, "  Take it out of the words of the source, or make the record stricter with sensitivity.\n")
	return errNotices
}

// writeKey keeps the way back from the ids of a copy, readable for its owner only.
func (p *program) writeKey(name string, force bool, inputs []string, r *pipeline.Shared) error {
	type pair struct {
		Copy   string `json:"copy"`
		Source string `json:"source"`
	}
	file := struct {
		Private bool   `json:"private"`
		Key     string `json:"key"`
		Finds   []pair `json:"finds"`
	}{true, hex.EncodeToString(r.Copy.Key), []pair{}}
	for id, source := range r.Copy.Back {
		file.Finds = append(file.Finds, pair{id, source})
	}
	slices.SortFunc(file.Finds, func(a, b pair) int {
		if a.Copy < b.Copy {
			return -1
		}
		return 1
	})
	b, err := json.Marshal(file, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	if err := pipeline.WriteFile(name, force, inputs, func(w io.Writer) error { _, err := w.Write(append(b, '\n')); return err }); err != nil {
		return err
	}
	return os.Chmod(name, 0o600)
}
