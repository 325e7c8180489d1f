package pipeline

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"path/filepath"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/geojson"
	"github.com/findslip/findslip/pkg/gpx"
	"github.com/findslip/findslip/pkg/internal/foreign"
	"github.com/findslip/findslip/pkg/kml"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

// An Input is an opened file of finds. Close it when its stream has been read.
type Input struct {
	Name   string
	Stream *find.Stream
	Format Format
	source *opened // nil: it was made in memory, or is several files

	stated  *stated // of the log, by its keeper; nil: nothing
	several bool    // logs read as one, which were normalised one by one
	close   func() error
}

// Close releases the file.
func (in *Input) Close() error {
	switch {
	case in.close != nil:
		return in.close()
	case in.source == nil:
		return nil
	}
	return in.source.close()
}

// Unchanged returns an error if the file is another one than when it was opened, for who reads the stream alone.
func (in *Input) Unchanged() error { return in.changed() }

// changed returns an error if the file is another one than when it was opened.
func (in *Input) changed() error {
	if in.source == nil || in.source.changed == nil {
		return nil
	}
	return in.source.changed()
}

// Again returns the same file to be read once more from its beginning. Closing either closes both.
func (in *Input) Again(o Options) (*Input, error) {
	again, err := open(in.Name, in.source, in.source.size, o)
	if err != nil {
		return nil, err
	}
	again.source = in.source
	return again, nil
}

// Open opens a file, or Options.Stdin for "-", and tells its format. Its stream holds what stands in the
// file, neither normalised nor judged, and ends with the error of the context when that is cancelled.
func Open(ctx context.Context, name string, o Options) (*Input, error) {
	o.ctx = ctx
	if register.IsName(path.Base(filepath.ToSlash(name))) {
		return nil, &InputError{File: name, Code: "register",
			Msg:  "this is the register of what you have told others, and no log",
			Help: "Name your log; keep the register beside it, and hand it to nobody."}
	}
	src, err := openSource(name, o)
	if err != nil {
		return nil, err
	}
	plain := src
	if name, src, err = unwrap(name, src, &o); err != nil {
		return nil, errors.Join(err, src.close())
	}
	o.wrapped = src != plain
	in, err := open(name, src, src.size, o)
	if err != nil {
		return nil, errors.Join(err, src.close())
	}
	in.source = src
	return in, nil
}

func open(name string, src source, size int64, o Options) (*Input, error) {
	format, err := sniff(name, src, o)
	if err != nil {
		return nil, err
	}
	st, err := o.besideLog(name, src, format)
	if err != nil {
		return nil, err
	}
	o.Table = st.table(o.Table, o.Read)
	s, err := decode(name, format, src, size, o)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	o.Read = st.reading(o.Read)
	if o.Since != "" {
		again := func() (*find.Stream, error) { return decode(name, format, src, size, o) }
		if s, err = since(s, again, o, format == XLSX || format == CSV); err != nil {
			return nil, fmt.Errorf("reading %s: %w", name, err)
		}
	}
	if err := identify(s, name, o); err != nil {
		return nil, err
	}
	return &Input{Name: name, Stream: s, Format: format, stated: st}, nil
}

// sniff tells the format of an opened file.
func sniff(name string, src source, o Options) (Format, error) {
	head := make([]byte, 4096)
	n, err := src.ReadAt(head, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return "", fmt.Errorf("reading %s: %w", name, err)
	}
	if n == 0 {
		return "", &InputError{File: name, Code: "file-empty", Msg: "the file is empty",
			Help: "look whether the right file was saved"}
	}
	if o.From != "" {
		return o.From, nil
	}
	if what, help := foreign.Of(name, head[:n]); what != "" {
		return "", &InputError{File: name, Code: "format-unknown", Msg: "this is " + what + ", which is not read", Help: help}
	}
	format, err := formatOf(name, head[:n])
	var e *InputError
	if errors.As(err, &e) {
		e.File = name
	}
	return format, err
}

// decode reads the finds of a file; their words are those of the profiles where the lists know no better.
func decode(name string, format Format, src source, size int64, o Options) (*find.Stream, error) {
	s, err := decodeAs(name, format, src, size, o)
	if err != nil {
		return nil, err
	}
	return profile.Words(s, o.Profiles), nil
}

func decodeAs(name string, format Format, src source, size int64, o Options) (*find.Stream, error) {
	if _, err := src.Seek(0, io.SeekStart); err != nil { // it may have been read before
		return nil, err
	}
	opts := find.Options{File: name, KeepSource: true, Limits: o.Limits}
	switch format {
	case Findslip:
		return find.DecodeJSON(src, opts)
	case JSONL:
		return find.DecodeJSONL(src, opts)
	case GeoJSON:
		return geojson.Decode(src, geojson.Options{File: name, Limits: o.Limits})
	case GPX:
		return gpx.Decode(src, gpx.Options{File: name, Limits: o.Limits})
	case KML:
		return kml.Decode(src, kml.Options{File: name, Limits: o.Limits})
	case XLSX, CSV:
		t := o.Table
		t.File, t.Limits, t.Pivot = name, o.Limits, cmp.Or(o.Read.Pivot, t.Pivot)
		if o.Read.Order != edtf.OrderUnknown && !t.Supplied {
			t.Order = o.Read.Order
		}
		t.Headings = profile.Headings(o.Profiles)
		if format == XLSX {
			return spreadsheet.DecodeXLSX(src, size, t)
		}
		return spreadsheet.DecodeCSV(src, t)
	}
	return nil, fmt.Errorf("format %q cannot be read", format)
}

// identify gives the report an id where it has none: the one of the options, else one made from
// the name of the file, which it then says.
func identify(s *find.Stream, name string, o Options) error {
	if o.ReportID != "" && !find.IsURN(o.ReportID) {
		return fmt.Errorf("the report id is not a UUID URN such as urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e, in lower case")
	}
	if s.Report.ID != "" {
		return nil
	}
	head := *s.Report
	if o.ReportID != "" {
		head.ID = o.ReportID
	} else {
		head.ID, head.IDBasis = find.ReportIDFromName(cmp.Or(o.source, Base(name))), "file-name"
	}
	s.Report = &head
	return nil
}
