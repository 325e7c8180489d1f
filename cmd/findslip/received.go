package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/received"
)

// receives reports whether check looks through all that came in to a receiver: a profile, and a folder or letters.
func (f *checkFlags) receives(files []string) bool {
	if len(f.profiles) == 0 {
		return false
	}
	for _, name := range files {
		if info, err := os.Stat(name); err == nil && info.IsDir() {
			return true
		}
	}
	return f.letters != ""
}

// received writes the table of who sent what, and a letter for each sender where they are asked for.
func (p *program) received(c *cobra.Command, files []string, f *checkFlags, o pipeline.Options, set failOn) error {
	write := map[string]func(*received.Set, io.Writer) error{"text": (*received.Set).Text, "json": (*received.Set).JSON,
		"html": (*received.Set).HTML}[f.report]
	if write == nil {
		return fmt.Errorf("--report %s: over a folder with --profile the report is text, html or json", f.report)
	}
	logs, err := p.logs(c.Context(), files, o)
	if err != nil {
		return err
	}
	if len(logs) == 0 {
		return errors.New("there is no log to look through")
	}
	p.pace.widen(gcWide)
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
		return fmt.Errorf("%s of %s could not be read; the table says why", counted(unread, "log"),
			counted(len(in.Senders), "log"))
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
		l, ok := set.Letter(sender)
		if !ok {
			continue
		}
		name := filepath.Join(f.letters, fmt.Sprintf("%03d-%s", i+1, plainName(sender.File)))
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
		written++
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
