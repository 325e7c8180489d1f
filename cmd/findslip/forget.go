package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

func (p *program) forgetCommand() *cobra.Command {
	var f inputFlags
	var out string
	c := described("forget", &cobra.Command{
		Args: needs(2, "a person or a field, and the logs"),
		RunE: func(c *cobra.Command, args []string) error { return p.forget(c.Context(), args[0], args[1:], out, f) },
	})
	f.add(c)
	c.Flags().StringVarP(&out, "output", "o", "", "folder to make")
	return c
}

func (p *program) forget(ctx context.Context, name string, logs []string, out string, f inputFlags) error {
	if out == "" || out == "-" {
		return fmt.Errorf("forget makes a folder: -o FOLDER")
	}
	if _, err := os.Lstat(out); err == nil {
		return fmt.Errorf("%s is there already, and is never written over: name a folder that is not there", out)
	}
	o, err := f.options(p)
	if err != nil {
		return err
	}
	files := map[string][]byte{}
	var told bytes.Buffer
	fmt.Fprintf(&told, "What stands of %q\n", render.Clean(name))
	letters, found := 0, false
	for _, log := range logs {
		ours, err := pipeline.Collect(ctx, log, o)
		if err != nil {
			return err
		}
		kept, err := pipeline.OpenRegister(log, time.Now().UTC().Format(time.RFC3339), p.limits)
		if err != nil {
			return err
		}
		done, err := handover.Forget(ours, name, kept.Register, o.Read.AsOf.String())
		if errors.Is(err, handover.ErrNobody) {
			fmt.Fprintf(&told, "\n%s: nothing\n", render.Clean(log))
			continue
		}
		if err != nil {
			return fmt.Errorf("%s: %w", log, err)
		}
		found = true
		if err := proposalsOf(files, log, done); err != nil {
			return err
		}
		tellForgotten(&told, log, done, kept.Fresh)
		for i := range done.Holders {
			letters++
			letter := fmt.Sprintf("letter-%d.txt", letters)
			files[letter] = []byte(done.Holders[i].Letter(done.Land))
			fmt.Fprintf(&told, "    %s\n", letter)
		}
	}
	if !found {
		p.say("%q stands in none of the logs", name)
		return errNotices
	}
	files["what-stands.txt"] = told.Bytes()
	if err := p.unfinished.Folder(out, func(part string) error { return writePrivate(part, files) }); err != nil {
		return fmt.Errorf("writing %s: %w", out, err)
	}
	for line := range strings.Lines(told.String()) {
		if line = strings.TrimRight(line, "\n"); line != "" {
			p.say("%s", line)
		}
	}
	p.say("all of it is in %s: keep that folder to yourself", render.Clean(out))
	return nil
}

// proposalsOf adds the file with the proposals for a log.
func proposalsOf(files map[string][]byte, log string, done *handover.Forgotten) error {
	var list bytes.Buffer
	if err := done.Proposals.Write(&list); err != nil {
		return err
	}
	stem, _, _ := strings.Cut(filepath.Base(log), ".")
	file := stem + "-proposals.json"
	for n := 2; files[file] != nil; n++ {
		file = fmt.Sprintf("%s-%d-proposals.json", stem, n)
	}
	files[file] = list.Bytes()
	return nil
}

// tellForgotten says what stands in one log and its copies.
func tellForgotten(told *bytes.Buffer, log string, done *handover.Forgotten, fresh bool) {
	what := "found by them, or kept by them"
	if done.Land {
		what = "from there"
	}
	fmt.Fprintf(told, "\n%s: %s %s; %s\n", render.Clean(log), counted(done.Finds, "find"), what,
		counted(len(done.Proposals.Proposals), "proposal"))
	for _, one := range done.Proposals.Proposals {
		fmt.Fprintf(told, "  %s\n", render.Clean(one.Says))
	}
	for _, look := range done.Look {
		fmt.Fprintf(told, "  look yourself: %s\n", render.Clean(look))
	}
	switch {
	case fresh:
		fmt.Fprintln(told, "  There is no register: who holds a copy is not known here.")
	case len(done.Holders) == 0:
		fmt.Fprintln(told, "  No copy in the register holds anything of it.")
	default:
		fmt.Fprintln(told, "  Copies that were handed out:")
	}
	for i := range done.Holders {
		h := &done.Holders[i]
		how := "it itself was told"
		if !h.Surely {
			how = "it was not told by name; " + counted(h.Finds, "find") + " of it"
		}
		fmt.Fprintf(told, "    %s, for %s, %s: %s\n", render.Clean(h.File), render.Clean(cmp.Or(h.Name, h.Audience)),
			render.Clean(h.Day), how)
	}
}

// writePrivate makes a folder of files that only their owner can read.
func writePrivate(folder string, files map[string][]byte) error {
	if err := os.Mkdir(folder, 0o700); err != nil {
		return err
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
			return err
		}
	}
	return nil
}
