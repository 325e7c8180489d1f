package pipeline

import (
	"archive/zip"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/internal/foreign"
	"github.com/findslip/findslip/pkg/limit"
)

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
	case "[content_types].xml", "mimetype", "content.xml", "bagit.txt":
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
