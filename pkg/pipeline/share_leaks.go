package pipeline

import (
	"bytes"
	"context"
	"errors"
	"io"

	"github.com/findslip/findslip/pkg/share"
)

// A LeakSearch looks through files for what a source report has and the audience of a file may not see.
type LeakSearch struct {
	source share.Source
	kept   *shelf
	name   string
	o      Options
}

// OpenLeaks reads the source.
func OpenLeaks(ctx context.Context, source string, o Options) (*LeakSearch, error) {
	from, kept, _, err := shelve(ctx, source, o)
	if err != nil {
		return nil, err
	}
	return &LeakSearch{from, kept, source, o}, nil
}

// Close gives up the finds of the source.
func (l *LeakSearch) Close() { l.kept.close() }

// Whose says of which find, field and cell of the source a leak tells.
func (l *LeakSearch) Whose(x share.Leak) string { return whose(l.source, x) }

// Look looks through a file of any sort. The audience is a, or where that is empty the one the file states as a
// find report, else the public. The centre of a cell, named as one, is no leak.
func (l *LeakSearch) Look(ctx context.Context, name string, a share.Audience) (share.Looked, share.Audience, error) {
	o := l.o
	o.ctx = ctx
	src, err := openSource(name, o)
	if err != nil {
		return share.Looked{}, "", err
	}
	defer src.close()
	audience := share.Public
	copied, done := l.copyIn(ctx, name, src, o)
	defer done()
	if copied != nil {
		if stated, err := share.ParseAudience(copied.Report.Audience); err == nil {
			audience = stated
		}
	}
	if a != "" {
		audience = a
	}
	if audience == share.Landowner && copied == nil {
		return share.Looked{}, "", &InputError{File: name, Code: "land-unknown",
			Msg:  "this is not a find report, so that the owner's own land cannot be told from the rest",
			Help: "share has looked through it when it was made; for another reader say --leaks-for public"}
	}
	search, err := share.NewSearch(ctx, l.source, copied, audience)
	if err != nil {
		return share.Looked{}, "", err
	}
	looked, err := search.File(ctx, src, src.size, o.Limits)
	if err == nil && copied != nil && audience != share.Landowner && audience != share.Self {
		looked.Compared = true
		again := newShelf(o)
		defer again.close()
		looked.Beyond, err = share.AgainstTable(ctx, copied.AsSource(), again, audience, o.Read.AsOf.String())
	}
	return looked, audience, err
}

// copyIn reads the find report in a file, nil if it is none.
func (l *LeakSearch) copyIn(ctx context.Context, name string, src *opened, o Options) (*share.Copied, func()) {
	none := func() {}
	head := make([]byte, min(src.size, 4096))
	if _, err := src.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, none
	}
	o.From, o.Stdin = "", io.NewSectionReader(src, 0, src.size)
	if f, err := formatOf(name, head); err == nil {
		o.From = f
	}
	start := bytes.ToLower(bytes.TrimSpace(head))
	if o.From == "" || bytes.HasPrefix(start, []byte("<!doctype html")) || bytes.HasPrefix(start, []byte("<html")) ||
		o.From == CSV && bytes.HasPrefix(start, []byte("<")) { // the tables of a page are no log
		return nil, none
	}
	from, kept, _, err := shelve(ctx, "-", o)
	if err != nil {
		return nil, none
	}
	if o.From == CSV && kept.Len() == 0 { // a text of another sort
		kept.close()
		return nil, none
	}
	return share.CopyOf(from, l.name), kept.close
}
