package pipeline

import (
	"bytes"
	"context"
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/share"
)

// Shared is a finished copy for one audience.
type Shared struct {
	Data  []byte       // the copy in the format asked for; nil if it leaks
	Leaks []share.Leak // what stopped it; empty if nothing was found
	Copy  *share.Copied
	Left  int // finds that are not in the copy at all
}

// Share reads a report of any format, makes a copy for an audience and looks through its finished
// bytes for leaks. It holds the whole report in memory.
func Share(ctx context.Context, name string, o Options, s share.Options) (*Shared, error) {
	in, err := Open(name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	o.Read.Table = in.Format == XLSX || in.Format == CSV
	source, _, err := find.Collect(normalise.Stream(in.Stream, o.Read))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	copied, err := share.Copy(source, s)
	if err != nil {
		return nil, fmt.Errorf("sharing %s: %w", name, err)
	}
	if o.Generator != "" {
		copied.Report.Generator = o.Generator
	}
	var out bytes.Buffer
	if err := encode(&out, find.StreamOf(copied.Report), o); err != nil {
		return nil, fmt.Errorf("sharing %s: %w", name, err)
	}
	leaks, err := share.Leaks(out.Bytes(), source, copied.Report, s.Audience)
	if err != nil {
		return nil, fmt.Errorf("sharing %s: %w", name, err)
	}
	r := &Shared{Leaks: leaks, Copy: copied, Left: copied.Left}
	if len(leaks) == 0 {
		r.Data = out.Bytes()
	}
	return r, nil
}
