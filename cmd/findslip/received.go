package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/received"
	"github.com/findslip/findslip/pkg/render"
)

// receives reports whether check looks through all that came in to a receiver: a profile, and a folder or letters.
func (f *checkFlags) receives(files []string) bool {
	return len(f.profiles) > 0 && (f.letters != "" || holdsFolder(files))
}

// holdsFolder reports whether one of the names is that of a folder.
func holdsFolder(names []string) bool {
	return slices.ContainsFunc(names, func(name string) bool {
		info, err := os.Stat(name)
		return err == nil && info.IsDir()
	})
}

// received writes the table of who sent what, and a letter for each sender where they are asked for.
func (p *program) received(c *cobra.Command, files []string, f *checkFlags, o pipeline.Options, set failOn) error {
	write := map[string]func(*received.Set, io.Writer) error{"text": (*received.Set).Text, "json": (*received.Set).JSON,
		"html": (*received.Set).HTML}[f.report]
	if write == nil {
		return fmt.Errorf("--report %s: over a folder with --profile the report is text, html or json", f.report)
	}
	o.Bags = true
	for i, e := range o.Profiles { // what came in is read as it is
		o.Profiles[i] = e.For(e.Beyond, nil)
	}
	logs, err := p.logs(c.Context(), files, o)
	if err != nil {
		return err
	}
	if len(logs) == 0 {
		return errors.New("there is no log to look through")
	}
	in, err := received.Look(c.Context(), logs, o)
	if err != nil {
		return err
	}
	if err := p.publish(f.out, f.force, nil, func(w io.Writer) error { return write(in, w) }); err != nil {
		return err
	}
	if f.letters != "" {
		if err := p.writeLetters(in, f); err != nil {
			return err
		}
	}
	unread, fails := 0, false
	for _, sender := range in.Senders {
		if sender.Err != nil {
			unread++
		} else {
			fails = fails || sender.Said.Count(set.fails) > 0
		}
	}
	switch {
	case unread > 0:
		return fmt.Errorf("%d of %s could not be read; the table says why", unread, counted(len(in.Senders), "log"))
	case fails:
		return errNotices
	}
	return nil
}

// writeLetters writes a letter to each sender into a folder, as text and as a page.
func (p *program) writeLetters(set *received.Set, f *checkFlags) error {
	if err := os.MkdirAll(f.letters, 0o700); err != nil {
		return fmt.Errorf("--letters: %w", err)
	}
	written := 0
	for i, sender := range set.Senders {
		for of := range set.All {
			l := set.Letter(sender, of)
			name := filepath.Join(f.letters, fmt.Sprintf("%03d-%s", i+1, plainName(sender.File)))
			if len(set.All) > 1 && sender.Err == nil {
				name += "-" + set.All[of].ID
			}
			var page bytes.Buffer
			if err := l.HTML(&page); err != nil {
				return err
			}
			for ending, text := range map[string][]byte{".txt": []byte(l.Text()), ".html": page.Bytes()} {
				if err := p.output(name+ending, f.force, nil,
					func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
					return err
				}
			}
			if written++; sender.Err != nil {
				break
			}
		}
	}
	p.say("%s written to %s", counted(written, "letter"), f.letters)
	return nil
}

// plainName makes a name of a file of the name of a log.
func plainName(name string) string {
	name = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '-'
	}, name)
	return name[:min(len(name), 60)]
}

// receiveFlags are the options of receive.
type receiveFlags struct {
	inputFlags
	out, accept, from string
	force, undo       bool // undo: accept names what takes proposals back
}

func (p *program) receiveCommand() *cobra.Command {
	var f receiveFlags
	var undo string
	c := described("receive", &cobra.Command{
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			if undo != "" && f.accept != "" {
				return fmt.Errorf("--accept and --undo are two jobs: give one of them")
			}
			if undo != "" {
				f.accept, f.undo = undo, true
			}
			switch {
			case f.out == "":
				return fmt.Errorf("receive needs a file to write: -o PROPOSALS.json, or with --accept -o OUT")
			case f.accept != "" && len(args) == 1:
				return p.acceptAnswer(c.Context(), args[0], f)
			case f.accept != "" || len(args) == 1:
				return fmt.Errorf("receive takes a log and an answer; or a log and --accept PROPOSALS.json")
			}
			return p.receive(c.Context(), args[0], args[1], f)
		},
	})
	f.add(c)
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.accept, "accept", "", "apply the accepted ones of these proposals")
	c.Flags().StringVar(&undo, "undo", "", "take accepted proposals back, by the file that was written for it")
	c.Flags().StringVar(&f.from, "by", "",
		"who gave the answer (default: the receiver of the copy); needed where the answer has lost its ids")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	return c
}

func (p *program) receive(ctx context.Context, log, answer string, f receiveFlags) error {
	o, err := f.options(p)
	if err != nil {
		return err
	}
	kept, err := pipeline.OpenRegister(log, time.Now().UTC().Format(time.RFC3339), p.limits)
	if err != nil {
		return err
	}
	ours, err := pipeline.Collect(ctx, log, o)
	if err != nil {
		return err
	}
	o.ReportID = ""
	theirs, err := pipeline.Collect(ctx, answer, o)
	if err != nil {
		return err
	}
	ho := handover.Options{From: f.from}
	if !o.Read.AsOf.IsZero() {
		ho.Day = o.Read.AsOf.String()
	}
	list, err := handover.Propose(ours, theirs, kept.Register, ho)
	if err != nil {
		return fmt.Errorf("receiving %s: %w; keep the register beside the log; where the answer has lost its ids, say "+
			"whose it is: --by NAME", answer, err)
	}
	if err := p.output(f.out, f.force, []string{log, answer}, list.Write); err != nil {
		return err
	}
	for i, text := range list.Said {
		if i == 20 {
			p.say("  and %d more; all are in the file under \"said\"", len(list.Said)-i)
			break
		}
		p.say("not taken up: %s", render.Clean(text))
	}
	p.say("%s from %s; set \"accepted\": true where you agree, then findslip receive LOG --accept %s -o OUT",
		counted(len(list.Proposals), "proposal"), render.Clean(list.From), render.Clean(f.out))
	return nil
}

// acceptAnswer applies accepted proposals, and writes beside the log what takes them back.
func (p *program) acceptAnswer(ctx context.Context, log string, f receiveFlags) error {
	o, err := f.options(p)
	if err != nil {
		return err
	}
	if o.To, err = targetOf("", f.out); err != nil {
		return err
	}
	undo, inputs := undoName(f), []string{log, f.accept}
	if undo != "" {
		if err := (pipeline.Output{Name: undo, Force: f.force, Inputs: inputs}).Check(); err != nil {
			return err
		}
	}
	list, err := p.readAnswers(f.accept)
	if err != nil {
		return err
	}
	ours, err := pipeline.Collect(ctx, log, o)
	if err != nil {
		return err
	}
	done, err := handover.Accept(ours, list)
	if err != nil {
		return fmt.Errorf("%s: %w", f.accept, err)
	}
	var lost []pipeline.Loss
	if err := p.output(f.out, f.force, inputs, func(w io.Writer) (err error) {
		lost, err = pipeline.EncodeTold(w, find.StreamOf(done.Log).Until(ctx), o)
		return err
	}); err != nil {
		return err
	}
	for _, l := range lost {
		p.say("warning: %s cannot hold %s (%d): keep the log as JSON or XLSX to keep it", o.To, l.Field, l.Times)
	}
	p.say("%s of %d applied", counted(done.Applied, "proposal"), len(list.Proposals))
	if undo != "" && done.Applied > 0 {
		if err := (pipeline.Output{Name: undo, Force: f.force, Inputs: inputs, Private: true,
			Unfinished: p.unfinished}).Write(done.Undo.Write); err != nil {
			return err
		}
		p.say("to take them back: findslip receive %s --undo %s -o FILE", render.Clean(f.out), render.Clean(undo))
		if list.From == handover.Forgetting {
			p.say("%s holds all that was forgotten: delete it when you are sure", render.Clean(undo))
		}
	}
	for _, text := range done.Refused {
		p.say("warning: refused: %s", render.Clean(text))
	}
	if len(done.Refused) > 0 {
		return errNotices
	}
	return nil
}

// undoName is the file for what takes accepted proposals back: beside the log that is written. There is none
// where the log goes to standard output, and none for taking back itself.
func undoName(f receiveFlags) string {
	if f.out == "-" || f.undo {
		return ""
	}
	stem, _, _ := strings.Cut(filepath.Base(f.out), ".")
	return filepath.Join(filepath.Dir(f.out), stem+"-undo.json")
}

func (p *program) readAnswers(name string) (*handover.Proposals, error) {
	side, err := pipeline.OpenSide(name)
	if err != nil {
		return nil, err
	}
	defer side.Close()
	list, err := handover.ReadProposals(side, p.limits)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return list, nil
}
