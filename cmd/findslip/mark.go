package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

// canMark says why a marked workbook could not be written.
func (f *checkFlags) canMark(files []string) error {
	switch {
	case len(files) != 1:
		return fmt.Errorf("--mark marks one workbook, and %d files were named; check them one by one", len(files))
	case files[0] == "-":
		return errors.New("--mark needs the name of a workbook, and standard input has none; save it as a file and name the file")
	case f.mark == "-":
		return errors.New("--mark writes a workbook, which standard output cannot show; name a file, such as marked.xlsx")
	}
	return (pipeline.Output{Name: f.mark, Force: f.force, Inputs: files}).Check()
}

// markBook writes the sender's workbook with the notices in it.
func (p *program) markBook(ctx context.Context, f *checkFlags, name string, doc *render.Document) error {
	book, err := pipeline.OpenSide(name)
	if err != nil {
		return fmt.Errorf("--mark: %w", err)
	}
	defer book.Close()
	head := make([]byte, 4)
	if _, err := io.ReadFull(book, head); err != nil || string(head) != "PK\x03\x04" {
		return fmt.Errorf("--mark: %s is not an XLSX workbook; only such a workbook can be marked, for others choose --report html", name)
	}
	if _, err := book.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("--mark: %w", err)
	}
	var done render.Marked
	err = (pipeline.Output{Name: f.mark, Force: f.force, Inputs: []string{name},
		Unfinished: p.unfinished}).Write(func(w io.Writer) (err error) {
		done, err = render.Mark(ctx, w, book, *doc, p.limits)
		return err
	})
	if err != nil {
		return fmt.Errorf("--mark: %w", err)
	}
	p.say("%s: %d cells filled, %d comments, all notices in the sheet %q", f.mark, done.Cells, done.Comments, done.Sheet)
	for _, left := range done.Left {
		p.say("%s: %s", f.mark, left)
	}
	return nil
}
