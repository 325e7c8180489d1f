package main

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/bag"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// packFlags are the options of pack.
type packFlags struct {
	shareFlags
	level, fail string
	profiles    []string
}

func (p *program) packCommand() *cobra.Command {
	var f packFlags
	c := described("pack", &cobra.Command{
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return p.pack(c.Context(), args[0], &f) },
	})
	f.add(c)
	f.addSharing(c)
	addProfile(c, &f.profiles)
	c.Flags().StringVarP(&f.out, "output", "o", "", "zip file or new folder to write")
	addLevel(c, &f.level)
	c.Flags().BoolVar(&f.force, "force", false, "replace a zip file that is there")
	c.Flags().StringVar(&f.language, "language", "",
		"language of what is written for people: en, de, nl, da, fr or sv (default: that of the settings, else en)")
	c.Flags().StringVar(&f.fail, "fail-on", "error",
		"what makes the exit status 1: error, warning, info, caution, a set, or never")
	return c
}

// options settles what is asked for before anything is read.
func (f *packFlags) options(p *program, in string) (o pipeline.Options, po pipeline.PackOptions,
	so pipeline.ShareOptions, err error) {
	if o, err = f.inputFlags.options(p); err != nil {
		return o, po, so, err
	}
	if err = p.profiles(f.profiles, f.audience, &o); err != nil {
		return o, po, so, err
	}
	if o.Level, err = validate.ParseLevel(f.level); err != nil {
		return o, po, so, fmt.Errorf("--level: %w", err)
	}
	switch {
	case f.out == "" || f.out == "-":
		err = fmt.Errorf("pack needs a place to write: -o OUT.zip, or -o FOLDER for a new folder")
	case f.zipped():
		err = (pipeline.Output{Name: f.out, Force: f.force, Inputs: []string{in}}).Check()
	default:
		if _, e := os.Lstat(f.out); e == nil {
			err = fmt.Errorf("writing %s: there is something of that name already; choose another name", f.out)
		}
	}
	if err != nil {
		return o, po, so, err
	}
	if o.Language = f.language; f.language != "" {
		if err = canSpeak(f.language, o.Profiles); err != nil {
			return o, po, so, err
		}
	}
	po = pipeline.PackOptions{Name: filepath.Base(f.out), Tool: "findslip " + version()}
	if f.zipped() {
		po.Name = strings.TrimSuffix(po.Name, filepath.Ext(po.Name))
	}
	so.Audience = share.Self
	if f.audience != "" {
		if so.Audience, err = share.ParseAudience(f.audience); err != nil {
			return o, po, so, fmt.Errorf("--for: %w", err)
		}
	} else if f.policy != "" || len(f.permissions) > 0 {
		return o, po, so, fmt.Errorf("--policy and --permission need an audience: --for recorder")
	}
	if err = f.sharing(p, &so); err != nil {
		return o, po, so, err
	}
	if !f.noStamp {
		po.Day = so.Day
	}
	so.Keep, err = p.register(in, f.shareFlags, so.Audience)
	return o, po, so, err
}

func (f *packFlags) zipped() bool { return strings.EqualFold(filepath.Ext(f.out), ".zip") }

func (p *program) pack(ctx context.Context, in string, f *packFlags) error {
	set, err := parseFailOn(f.fail)
	if err != nil {
		return err
	}
	o, po, so, err := f.options(p, in)
	if err != nil {
		return err
	}
	r, err := pipeline.Pack(ctx, in, o, po, so)
	if err != nil {
		return err
	}
	defer r.Close()
	for _, text := range r.Danger(o) {
		p.say("%s  %s", render.Say(o.Language, "safety"), render.Clean(text))
	}
	if r.Shared != nil {
		if err := p.stopped(r.Shared, so); err != nil {
			return err
		}
		p.sayCircles(r.Shared.Copy, f.district)
	}
	if f.zipped() {
		err = (pipeline.Output{Name: f.out, Force: f.force, Inputs: []string{in},
			Unfinished: p.unfinished}).Write(func(w io.Writer) error { return r.WriteZip(ctx, w) })
	} else {
		err = r.WriteFolder(ctx, filepath.Dir(f.out))
	}
	if err != nil {
		return err
	}
	if r.Shared != nil {
		if err := p.commit(ctx, r.Shared, o, filepath.Base(f.out), r.Shared.Sum()); err != nil {
			return err
		}
	}
	if err := p.sayFingerprint(f.out, po.Name, f.zipped()); err != nil {
		return err
	}
	return p.afterPack(r, o, set)
}

// sayFingerprint says the short form of the sums of a hand-over, to be read over the telephone.
func (p *program) sayFingerprint(name, folder string, zipped bool) (err error) {
	files := os.DirFS(name)
	if zipped {
		z, err := zip.OpenReader(name)
		if err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		defer z.Close()
		if files, err = fs.Sub(z, folder); err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
	}
	print, err := bag.Fingerprint(files)
	if err != nil {
		return fmt.Errorf("reading %s: %w", name, err)
	}
	p.say("fingerprint %s: read it to the receiver over the telephone; unpacking says the same one if nothing was changed",
		print)
	return nil
}

func (p *program) afterPack(r *pipeline.Packed, o pipeline.Options, set failOn) error {
	p.say("packed %s and %s", counted(r.Result.Summary.Finds, "find"), counted(r.Pictures, "picture"))
	for _, m := range r.Missing {
		p.say("warning: the picture %s is named in the report and is not there", render.Clean(m))
	}
	for _, m := range r.Held {
		p.say("warning: the picture %s stays behind: it tells more than is seen on it, and this is a copy for others; pack "+
			"the source with --for", render.Clean(m))
	}
	if r.Shared != nil {
		for _, text := range r.Shared.LeftOut {
			p.say("warning: a picture stays behind: %s", render.Clean(text))
		}
		for _, l := range r.Shared.NameLeaks {
			p.say("warning: the name of the hand-over tells %s; give it another name", render.Clean(l.Kind))
		}
		p.sayHeld(r.Shared)
		p.sayOut(r.Shared.Copy.Out, "left out without a word in the copy")
	}
	doc := r.Result.Document("", o)
	p.say("%s, %s; they are in notices.json", counted(len(doc.Notices), "notice"), counted(doc.Cautions(), "caution"))
	for _, asked := range doc.Verdict(o.Language).Receivers {
		for _, line := range append([]string{asked.Verdict}, asked.Todo...) {
			p.say("%s", line)
		}
	}
	if out := r.Unwanted(o); out != "" {
		p.say("%s", out)
	}
	switch r.Result.Report.Audience {
	case "", "self":
		p.say("packed for yourself: exact places, names, and pictures as they were taken; for somebody else pack it with " +
			"--for")
	case "partner", "recorder", "landowner":
		p.say("packed for %s: it may hold exact places; hand it only to those who may have them", r.Result.Report.Audience)
	}
	if !set.failsAny(&doc) {
		return nil
	}
	const most = 5
	var named []string // why it is no success
	for _, n := range doc.Notices {
		if !set.fails(n.Kind) {
			continue
		}
		if text := fmt.Sprintf("%s [%s]", render.Clean(n.Message), n.Kind.Code); !slices.Contains(named, text) {
			if named = append(named, text); len(named) == most {
				break
			}
		}
	}
	p.say("exit status 1 for this, which is still to be put right:")
	for _, text := range named {
		p.say("  %s", text)
	}
	return errNotices
}

func (p *program) unpackCommand() *cobra.Command {
	var out string
	c := described("unpack", &cobra.Command{
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if out == "" {
				out = strings.TrimSuffix(args[0], filepath.Ext(args[0]))
			}
			r, err := p.unfinished.Unpack(c.Context(), args[0], out, p.limits)
			if errors.Is(err, os.ErrExist) {
				return fmt.Errorf("%w; name a new folder with -o FOLDER", err)
			}
			if err != nil {
				return err
			}
			for _, problem := range r.Problems {
				fmt.Fprintln(p.out, render.Clean(problem.String()))
			}
			for _, m := range r.Missing {
				fmt.Fprintf(p.out, "missing: the report names the picture %s, and it is not there\n", render.Clean(m))
			}
			if len(r.Problems)+len(r.Missing) > 0 {
				return errNotices
			}
			p.say("whole: every sum is as sealed; %s in %s", counted(r.Finds, "find"), r.Folder)
			if print, err := bag.Fingerprint(os.DirFS(r.Folder)); err == nil {
				p.say("fingerprint %s: compare it with the one that the sender has", print)
			}
			return nil
		},
	})
	c.Flags().StringVarP(&out, "output", "o", "", "new folder to unpack into (default: the name without .zip)")
	return c
}

// counted writes a number and what it counts.
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
