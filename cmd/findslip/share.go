package main

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// shareFlags are the options of share.
type shareFlags struct {
	inputFlags
	audience, to, out, key, log string
	policy                      string
	permissions                 []string
	force, plain, noStamp       bool
	notes, noLog, holdBack      bool
}

func (p *program) shareCommand() *cobra.Command {
	var f shareFlags
	c := &cobra.Command{
		Use:   "share IN --for AUDIENCE -o OUT",
		Short: "Make a copy for one audience, with a leak check",
		Long: `share makes a copy that holds only what an audience may see: partner, landowner, expert,
recorder or public. Places are made coarser on a fixed grid, which the record says; what is taken
away is named as withheld. The finished bytes are looked through for what was taken away: a leak
stops the export, is told by kind and member, and nothing is written; with --hold-back the words in
which it stands are withheld as well, and the rest goes.

OUT.html is a page to print: for a landowner what was found on each field and day, with room to
sign, for an expert each find with its question and what is still missing.

With --pictures the pictures go along in a folder beside OUT, or within a page: upright, without
metadata and under new names. Only JPEG and PNG pictures can be made clean; others stay behind.

--policy makes the published table stricter: {"findslipPolicy": "1", "members": [{"member": "notes",
"recorder": "withhold"}]} keeps the notes from a recorder. It can never show more than the table or
the sensitivity of a record ("findslip schema policy" has the format).

A cell in which you have only one permission would give that away, so that its finds go one step
coarser: for most logs the public sees cells of 0.1 or 1 degree, about 11 or 110 km, and the
record says why.

The copy says when it was made: for the public and an expert the day, else the second (--no-stamp
leaves it out).

A log beside the source (IN.exports.jsonl) keeps what each copy showed, so that share can warn when
two copies together tell more than one. It leads back from the copies: never hand it on.

No check finds everything: read the copy before you hand it on.`,
		Example: `  findslip share season.findslip.json --for public -o public.geojson
  findslip share season.findslip.json --for landowner --permission "Long Furlong" -o farmer.html
  findslip share season.findslip.json --for expert --pictures . -o ask.html`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return p.share(c.Context(), args[0], f) },
	}
	f.add(c)
	c.Flags().StringVar(&f.audience, "for", "", "partner, landowner, expert, recorder or public")
	c.Flags().StringArrayVar(&f.permissions, "permission", nil, "local id of a permission of the landowner's own land, or the name of that land")
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.to, "to", "", "format to write, or html for a page (default: by the name of the file)")
	c.Flags().StringVar(&f.policy, "policy", "", "make the table of members by audience stricter, from this JSON file")
	c.Flags().StringVar(&f.key, "key", "", "keep the way back from the new ids of a public copy in this file; never hand it on")
	c.Flags().StringVar(&f.log, "log", "", "log of exports (default: beside the source, IN.exports.jsonl)")
	c.Flags().BoolVar(&f.noLog, "no-log", false, "keep no log, and compare with none")
	c.Flags().BoolVar(&f.notes, "notes", false, "keep the notes in which nothing is found that leaks, and say of the others where it stands")
	c.Flags().BoolVar(&f.holdBack, "hold-back", false, "withhold the words in which something leaks, and say which, in place of stopping")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&f.plain, "plain", false, "tables without the canonical columns")
	c.Flags().BoolVar(&f.noStamp, "no-stamp", false, "do not say in the copy when it was made")
	_ = c.MarkFlagRequired("for")
	return c
}

func (p *program) share(ctx context.Context, in string, f shareFlags) error {
	o, s, err := f.options(p)
	if err != nil {
		return err
	}
	folder, err := f.folder(o)
	if err != nil {
		return err
	}
	var made *pictureFolder
	if folder != "" {
		if made, err = newPictureFolder(folder); err != nil {
			return err
		}
		defer made.discard()
		s.Pictures, s.SavePicture = filepath.Base(folder), made.save
	}
	for _, name := range []string{f.out, f.key} {
		if name != "" && name != "-" {
			if err := (pipeline.Output{Name: name, Force: f.force, Inputs: []string{in}}).Check(); err != nil {
				return err
			}
		}
	}
	log, err := openLog(in, f, s.Audience, p.limits)
	if err != nil {
		return err
	}
	if f.out != "-" {
		s.Name = filepath.Base(f.out)
	}
	r, err := pipeline.Share(ctx, in, o, s)
	if err != nil {
		return err
	}
	if len(r.Leaks) > 0 {
		return p.leaks(r)
	}
	if f.key != "" {
		if err := p.writeKey(f.key, f.force, []string{in}, r); err != nil {
			return err
		}
	}
	if err := p.output(f.out, f.force, []string{in}, func(w io.Writer) error { _, err := w.Write(r.Data); return err }); err != nil {
		return err
	}
	if made != nil {
		if err := made.keep(); err != nil {
			return err
		}
	}
	p.afterShare(r, s)
	return p.keepLog(log, r, f.out, o.Read.AsOf.String())
}

func (f *shareFlags) options(p *program) (o pipeline.Options, s pipeline.ShareOptions, err error) {
	if o, err = f.inputFlags.options(p); err != nil {
		return o, s, err
	}
	if s.Audience, err = share.ParseAudience(f.audience); err != nil {
		return o, s, fmt.Errorf("--for: %w", err)
	}
	ext := strings.ToLower(filepath.Ext(f.out))
	switch {
	case f.out == "":
		return o, s, fmt.Errorf("share needs a file to write: -o OUT, or -o - for standard output")
	case f.to == string(pipeline.Page), f.to == "" && (ext == ".html" || ext == ".htm"):
		o.To, o.Generator = pipeline.Page, "findslip "+version()
		if !share.HasSheet(s.Audience) {
			return o, s, fmt.Errorf("there is a page for landowner and expert only; give another format for %s, such as -o OUT.xlsx", s.Audience)
		}
	default:
		if o.To, err = targetOf(f.to, f.out); err != nil {
			if f.to != "" {
				err = fmt.Errorf("%w, or html for a page", err)
			}
			return o, s, err
		}
	}
	o.Plain = f.plain
	s.Permissions, s.Notes, s.HoldBack = f.permissions, f.notes, f.holdBack
	if s.Policy, err = readPolicy(f.policy, p.limits); err != nil {
		return o, s, err
	}
	if !f.noStamp {
		s.Changed, s.Day = stamp(s.Audience, f.asOf)
	}
	return o, s, nil
}

// stamp says when a copy is made: now, or on the day that counts as today. The hour would tell the
// public and an expert of two copies that one hand made them.
func stamp(a share.Audience, asOf string) (changed, day string) {
	now := time.Now()
	if asOf != "" {
		return asOf + "T00:00:00Z", asOf
	}
	day = now.Format(time.DateOnly)
	if a == share.Public || a == share.Expert {
		return day + "T00:00:00Z", day
	}
	return now.UTC().Format(time.RFC3339), day
}

// readPolicy reads the finder's own policy; no name is the published table.
func readPolicy(name string, limits limit.Limits) (*share.Policy, error) {
	if name == "" {
		return nil, nil
	}
	r, err := pipeline.OpenSide(name)
	if err != nil {
		return nil, fmt.Errorf("--policy: %w", err)
	}
	defer r.Close()
	policy, err := share.ReadPolicy(r, limits)
	if err != nil {
		return nil, fmt.Errorf("--policy %s: %w", name, err)
	}
	return policy, nil
}

// folder names the folder of the pictures, empty where none are to be written.
func (f *shareFlags) folder(o pipeline.Options) (string, error) {
	if o.Files == nil || o.To == pipeline.Page || f.audience == string(share.Self) || f.audience == string(share.Public) {
		return "", nil
	}
	if f.out == "-" {
		return "", fmt.Errorf("pictures cannot go to standard output: name a file with -o, or leave --pictures out")
	}
	stem := filepath.Base(f.out)
	stem, _, _ = strings.Cut(stem, ".")
	return filepath.Join(filepath.Dir(f.out), stem+"-pictures"), nil
}

// afterShare says what was made and what a person should look at.
func (p *program) afterShare(r *pipeline.Shared, s pipeline.ShareOptions) {
	for _, text := range r.LeftOut {
		p.say("warning: a picture stays behind: %s", render.Clean(text))
	}
	p.sayHeld(r)
	for _, held := range r.Copy.Held {
		p.say("warning: notes are kept back: %s", render.Clean(held.String()))
	}
	if s.Audience == share.Expert {
		for _, f := range r.Copy.Report.Finds {
			if f.Question == "" {
				continue
			}
			if lacks := share.Lacks(f); len(lacks) > 0 {
				p.say("warning: find %s lacks, before it may go out: %s", render.Clean(f.Number), strings.Join(lacks, "; "))
			}
		}
	}
	p.sayGrids(r.Copy.Report)
	for _, l := range r.NameLeaks {
		p.say("warning: the name of the file tells %s; give it another name before you hand it on", render.Clean(l.Kind))
	}
	p.say("a copy of %s for %s; %s left out; read it before you hand it on", counted(len(r.Copy.Report.Finds), "find"), s.Audience, counted(r.Left, "find"))
}

// sayHeld tells what could not be read, and what was withheld because something leaked in it.
func (p *program) sayHeld(r *pipeline.Shared) {
	if r.Unread > 0 {
		p.say("warning: %s of the source could not be read, and nothing of that is in the copy; findslip check says where", counted(r.Unread, "piece"))
	}
	for i, s := range r.HeldBack {
		if i == 20 {
			p.say("  and %d more", len(r.HeldBack)-i)
			break
		}
		p.say("held back: %s", render.Clean(s.String()))
	}
}

// sayGrids tells how coarse the places of a copy are, and why.
func (p *program) sayGrids(r *find.Report) {
	grids, alone := map[string]int{}, 0
	for _, f := range r.Finds {
		if grid := f.Generalised["/position"]; grid != "" {
			grids[grid]++
		}
		if f.Generalised["/position/uncertainty"] == "cell-of-one-permission" {
			alone++
		}
	}
	var parts []string
	for _, g := range [][2]string{{"grid-0.01", "0.01 degree (about 1 km)"}, {"grid-0.1", "0.1 degree (about 11 km)"}, {"grid-1", "1 degree (about 110 km)"}} {
		if n := grids[g[0]]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s in cells of %s", counted(n, "find"), g[1]))
		}
	}
	if len(parts) == 0 {
		return
	}
	p.say("places: %s", strings.Join(parts, ", "))
	if alone > 0 {
		p.say("%s one step coarser than the sensitivity asks for: only one of your permissions lies in the cell, which would give it away", wereAre(alone))
	}
}

func wereAre(n int) string {
	if n == 1 {
		return "1 of them is"
	}
	return fmt.Sprintf("%d of them are", n)
}

// leaks tells what leaks and ends the command with status 1.
func (p *program) leaks(r *pipeline.Shared) error {
	fmt.Fprintf(p.err, "findslip: the copy would give away what its audience may not see; nothing was written\n")
	p.listLeaks(p.err, r.Leaks)
	for i, s := range r.Spans {
		if i == 20 {
			fmt.Fprintf(p.err, "  and %d more\n", len(r.Spans)-i)
			break
		}
		fmt.Fprintf(p.err, "  in %s\n", render.Clean(s.String()))
	}
	fmt.Fprintf(p.err, "  Take it out of the words of the source, or withhold those words: --hold-back, or --policy for all records.\n")
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
	return (pipeline.Output{Name: name, Force: force, Inputs: inputs, Private: true, Unfinished: p.unfinished}).Write(func(w io.Writer) error { _, err := w.Write(append(b, '\n')); return err })
}
