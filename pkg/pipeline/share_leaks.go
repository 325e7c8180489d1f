package pipeline

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/share"
)

// Leaks looks through a file of any sort for what a source report has and the audience of the file
// may not see. The audience is a, or where that is empty the one the file states as a find report,
// else the public. The centre of a cell, named as one, is no leak.
func Leaks(ctx context.Context, name, source string, a share.Audience, o Options) (share.Looked, share.Audience,
	error) {
	report, err := collect(ctx, source, o)
	if err != nil {
		return share.Looked{}, "", err
	}
	o.ctx = ctx
	src, err := openSource(name, o)
	if err != nil {
		return share.Looked{}, "", err
	}
	defer src.close()
	data, err := limit.ReadAll(io.NewSectionReader(src, 0, src.size), "held", o.Limits.WithDefaults().Held)
	if over := limit.Of(err); over != nil {
		return share.Looked{}, "", tooLarge(name, over)
	}
	if err != nil {
		return share.Looked{}, "", fmt.Errorf("reading %s: %w", name, err)
	}
	audience, copied := share.Public, (*share.Copied)(nil)
	if r := reportIn(ctx, name, data, o); r != nil {
		copied = &share.Copied{Report: r, Names: []string{source}}
		if stated, err := share.ParseAudience(r.Audience); err == nil {
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
	looked, err := share.Leaks(ctx, data, report, copied, audience, o.Limits)
	return looked, audience, err
}

// reportIn reads the find report in a file, nil if it is none.
func reportIn(ctx context.Context, name string, data []byte, o Options) *find.Report {
	o.From, o.Stdin = "", bytes.NewReader(data)
	if f, err := formatOf(name, data[:min(len(data), 4096)]); err == nil {
		o.From = f
	}
	if o.From == "" || o.From == CSV && bytes.HasPrefix(bytes.TrimSpace(data), []byte("<")) {
		return nil
	}
	r, err := collect(ctx, "-", o)
	if err != nil {
		return nil
	}
	return r
}
