package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
)

// A file that is no XLSX workbook is told by its first bytes, because the name often says otherwise.
var (
	errProtected = errors.New("is protected by a password or an old .xls: save it as .xlsx without a password")
	errOldXLS    = errors.New("is an old .xls: save it as .xlsx")
	errODS       = errors.New("is an OpenDocument spreadsheet (.ods): save it as .xlsx")
	errBinary    = errors.New("is a binary workbook (.xlsb): save it as .xlsx")
	errXML2003   = errors.New("is an XML spreadsheet of 2003: save it as .xlsx")
	errHTML      = errors.New("is a web page with the name of a workbook: open it in a spreadsheet and save it as .xlsx")
	errEmpty     = errors.New("is empty: the file has no bytes")
	errText      = errors.New("is a text file, not a workbook: read it as CSV")
	errOther     = errors.New("is not an XLSX workbook: save it as .xlsx")
	errArchive   = errors.New("is not a whole workbook: the file is cut short or damaged; save it or fetch it again")
)

// signature looks at the first bytes and returns the reason why the file cannot be a workbook, or
// nil when it is a zip archive.
func signature(r io.ReaderAt, size int64) error {
	head := make([]byte, min(max(size, 0), 1024))
	n, err := r.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return err
	}
	head = head[:n]
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF")), " \t\r\n"))
	has := func(prefix string) bool { return bytes.HasPrefix(head, []byte(prefix)) }
	switch {
	case len(head) == 0:
		return errEmpty
	case has("PK\x03\x04"), has("PK\x05\x06"), has("PK\x07\x08"):
		return nil
	case has("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"):
		return errProtected
	case has("\x09\x00\x04\x00"), has("\x09\x02\x06\x00"), has("\x09\x04\x06\x00"), has("\x09\x08"):
		return errOldXLS
	case bytes.HasPrefix(text, []byte("<html")), bytes.HasPrefix(text, []byte("<!doctype html")),
		bytes.HasPrefix(text, []byte("<table")):
		return errHTML
	case bytes.HasPrefix(text, []byte("<?xml")) && bytes.Contains(text,
		[]byte("urn:schemas-microsoft-com:office:spreadsheet")):
		return errXML2003
	case !bytes.ContainsRune(head, 0) && utf8.Valid(head[:max(0, len(head)-utf8.UTFMax)]) && !has("%PDF"):
		return errText
	}
	return errOther
}

// kindOfArchive returns the reason why a zip archive without a workbook part is no workbook.
func kindOfArchive(parts map[string]*zip.File) error {
	for name := range parts {
		switch {
		case name == "mimetype" || name == "content.xml":
			return errODS
		case strings.HasSuffix(name, "xl/workbook.bin"):
			return errBinary
		}
	}
	return errOther
}
