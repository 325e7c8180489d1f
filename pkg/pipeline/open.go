package pipeline

import (
	"archive/zip"
	"cmp"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/geojson"
	"github.com/findslip/findslip/pkg/gpx"
	"github.com/findslip/findslip/pkg/internal/foreign"
	"github.com/findslip/findslip/pkg/kml"
	"github.com/findslip/findslip/pkg/limit"
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
	switch {
	case o.From == Tables:
		return XLSX, nil
	case o.From == JSONLD || o.From == GPKG, o.From == "" && FormatOfName(name) == JSONLD:
		return "", &InputError{File: name, Code: "format-unknown",
			Msg: "a file of this kind is made of a report and not read", Help: "give the report that it was made of"}
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
		return fmt.Errorf("the report id is not a UUID URN such as urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e, in lower " +
			"case")
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

// unwrap opens the one file of finds inside a .zip, .kmz or .gz. Workbooks, which are archives themselves, and all
// other files come back as they are.
func unwrap(name string, src *opened, o *Options) (string, *opened, error) {
	head := make([]byte, foreign.HeadSize)
	n, err := src.ReadAt(head, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return name, src, fmt.Errorf("reading %s: %w", name, err)
	}
	head = head[:n]
	switch {
	case strings.HasPrefix(string(head), "\x1f\x8b"):
		return unwrapGzip(name, src, o)
	case strings.HasPrefix(string(head), "PK\x03\x04"):
		return unwrapZip(name, src, o)
	}
	return name, src, nil
}

func unwrapGzip(name string, src *opened, o *Options) (string, *opened, error) {
	z, err := gzip.NewReader(io.NewSectionReader(src, 0, src.size))
	if err != nil {
		return name, src, &InputError{File: name, Code: "file-unreadable", Msg: "the packed file is damaged",
			Help: "fetch it again", Err: err}
	}
	inner := strings.TrimSuffix(name, path.Ext(name))
	return o.unpacked(inner, name, z, src)
}

// unpacked holds what was packed in a file, which it closes.
func (o *Options) unpacked(inner, name string, r io.Reader, src *opened) (string, *opened, error) {
	limits := o.Limits.WithDefaults()
	limits.Spool = min(limits.Spool, limits.Expanded)
	in, err := spool(o, name, r, limits)
	if err != nil {
		return name, src, err
	}
	done := in.close
	in.changed, in.close = src.changed, func() error { return errors.Join(done(), src.close()) }
	return inner, in, nil
}

func unwrapZip(name string, src *opened, o *Options) (string, *opened, error) {
	limits := o.Limits.WithDefaults()
	z, err := zip.NewReader(io.NewSectionReader(src, 0, src.size), src.size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return name, src, nil // the reader of workbooks says what is wrong
	}
	found, whole := logsIn(z, limits.Entries)
	if whole {
		return name, src, nil
	}
	if o.member != "" {
		found = slices.DeleteFunc(found, func(f *zip.File) bool { return f.Name != o.member })
	}
	if doc := slices.IndexFunc(found, func(f *zip.File) bool { return FormatOfName(f.Name) == KML }); doc >= 0 &&
		FormatOfName(name) == KML {
		found = found[doc : doc+1]
	}
	switch len(found) {
	case 0:
		return name, src, nil
	case 1:
	default:
		names := make([]string, 0, 8)
		for _, f := range found[:min(len(found), 8)] {
			names = append(names, fmt.Sprintf("%.60q", f.Name))
		}
		return name, src, &InputError{File: name, Code: "archive-with-several-files",
			Msg:  fmt.Sprintf("the archive holds %d files that may be logs: %s", len(found), strings.Join(names, ", ")),
			Help: "findslip convert reads them as one log; else unpack it, and give the files by name"}
	}
	return o.unwrapMember(name, src, found[0], limits)
}

// isWorkbookPart reports whether an archive with such a file in it is a workbook or a hand-over.
func isWorkbookPart(name string) bool {
	switch strings.ToLower(name) {
	case "[content_types].xml", "mimetype", "content.xml", "bagit.txt", "datapackage.json":
		return true
	}
	return strings.HasPrefix(strings.ToLower(name), "xl/") || strings.HasPrefix(name, "Index/") || strings.HasSuffix(name,
		"/bagit.txt")
}

func (o *Options) unwrapMember(name string, src *opened, f *zip.File, limits limit.Limits) (string, *opened, error) {
	if f.Flags&1 != 0 {
		return name, src, &InputError{File: name, Code: "file-unreadable", Msg: "the archive is protected by a password",
			Help: "unpack it with the password, and give the file in it"}
	}
	if packed := max(1, f.CompressedSize64); f.UncompressedSize64 > 4<<20 &&
		int64(f.UncompressedSize64/packed) > limits.Ratio {
		over := limit.Over("ratio", limits.Ratio)
		return name, src, tooLarge(name, over)
	}
	r, err := f.Open()
	if err != nil {
		return name, src, &InputError{File: name, Code: "file-unreadable",
			Msg:  fmt.Sprintf("%.60q in the archive cannot be unpacked", f.Name),
			Help: "unpack it with another program, and give the file in it", Err: err}
	}
	defer r.Close()
	return o.unpacked(name+"/"+path.Base(f.Name), name, r, src)
}
