// Package xlsx reads the cells of XLSX workbooks as a stream, one row at a time and with all that is
// lost when cells are read as formatted text: the literal of each number, its format code, whether
// it is a date, and whether a formula gave it.
//
//	w, err := xlsx.Open(file, size, grid.Limits{})
//	for row, err := range w.Rows(ctx, 0) {
//
// Memory holds one row, the list of shared texts and the styles, whatever the size of the sheet.
// Names of elements are taken with any prefix and in both the transitional and the strict form of
// ISO/IEC 29500-1.
//
// # What it refuses
//
// The reader takes files from strangers. Document types and entities are refused, the limits of
// [grid.Limits] are watched while parts unpack, macros are never looked at and links never followed;
// [Workbook.HasMacros] and [Workbook.HasExternalLinks] tell of them. Files of another kind are reported
// by their first bytes and refused with the advice to save them as .xlsx.
//
// # What it does not read
//
// Formulas are not computed: their stored results are read. Comments, pictures, charts and styles
// other than the number format are passed over.
package workbook

import (
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// workbook is an open workbook.
type workbook struct {
	archive       *archive
	limits        grid.Limits
	epoch         int
	macros, links bool
	sheets        []sheet
	styles        []*grid.Format // nil for the general format
	struck        []bool         // styles that strike through
	unseen        []bool         // styles that show nothing: white on no ground, or by the format of the number
	sharedPart    string         // the part with the shared texts, or empty
	shared        []string       // nil until first used
	loaded        bool
}

// sheet is one worksheet and where it stands.
type sheet struct {
	name   string
	hidden bool
	part   string
}

// OpenXLSX reads the directory, the list of sheets and the styles of the workbook of the given size in
// bytes. The reader must stay open as long as the book is used.
func OpenXLSX(r io.ReaderAt, size int64, limits grid.Limits) (*grid.Book, error) {
	w, err := openWorkbook(r, size, limits)
	if err != nil {
		return nil, err
	}
	names := make([]grid.Sheet, len(w.sheets))
	for i, s := range w.sheets {
		names[i] = grid.Sheet{Name: s.name, Hidden: s.hidden}
	}
	b := &grid.Book{Format: "xlsx", Epoch: w.epoch, Sheets: grid.NewSheets(names, w.epoch, w.readSheet)}
	if w.macros || w.links {
		b.Notes = append(b.Notes, grid.Note{Code: grid.NoteActive,
			Text: "the workbook has macros or links to other files; they are ignored"})
	}
	return b, nil
}

func openWorkbook(r io.ReaderAt, size int64, limits grid.Limits) (*workbook, error) {
	limits = limits.WithDefaults()
	a, err := openArchive(r, size, limits)
	if err != nil {
		return nil, err
	}
	w := &workbook{archive: a, limits: limits, epoch: 1900}
	main, err := w.mainPart()
	if err != nil {
		return nil, err
	}
	targets, err := w.relationships(main)
	if err != nil {
		return nil, err
	}
	stylesPart := ""
	for _, t := range targets {
		switch {
		case t.external, t.kind == "externalLink", t.kind == "connections":
			w.links = true
		case t.kind == "styles":
			stylesPart = t.part
		case t.kind == "sharedStrings":
			w.sharedPart = t.part
		case t.kind == "vbaProject", t.kind == "xlMacrosheet":
			w.macros = true
		}
	}
	for name := range a.parts {
		w.macros = w.macros || strings.HasSuffix(name, "vbaproject.bin") || strings.HasPrefix(name, "xl/macrosheets/")
		w.links = w.links || strings.HasPrefix(name, "xl/externallinks/")
	}
	if err := w.readPart(main, func(s *scanner) error { return w.readWorkbook(s, targets) }); err != nil {
		return nil, err
	}
	if len(w.sheets) == 0 {
		return nil, errors.New("the workbook has no worksheet: a sheet with cells is expected")
	}
	if stylesPart != "" {
		if err := w.readPart(stylesPart, w.readStyles); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// readPart opens a part, has it read, and reads on to its end, where the checksum is compared.
func (w *workbook) readPart(name string, read func(*scanner) error) error {
	return w.archive.readPart(name, read)
}

func (a *archive) readPart(name string, read func(*scanner) error) error {
	rc, err := a.open(name)
	if err != nil {
		return err
	}
	defer rc.Close()
	s := newScanner(rc)
	if err := read(s); err != nil {
		return damaged(name, err)
	}
	if err := s.finish(); err != nil {
		return damaged(name, err)
	}
	return nil
}

// target is one relationship of a part to another.
type target struct {
	id, kind, part string
	address        string // the target as it stands in the file
	external       bool
}

// mainPart finds the workbook part through the relationships of the package.
func (w *workbook) mainPart() (string, error) {
	targets, err := w.relationships("")
	if err != nil {
		return "", err
	}
	for _, t := range targets {
		if t.kind == "officeDocument" && !t.external && w.archive.has(t.part) {
			switch path.Ext(partName(t.part)) {
			case ".bin":
				return "", errBinary
			}
			if dir := strings.Split(partName(t.part), "/")[0]; dir == "word" || dir == "ppt" {
				return "", errOther
			}
			return t.part, nil
		}
	}
	const usual = "xl/workbook.xml"
	if w.archive.has(usual) {
		return usual, nil
	}
	return "", kindOfArchive(w.archive.parts)
}

// relationships reads the relationships of a part, or of the package when the part is empty. A part
// without any has no list.
func (w *workbook) relationships(of string) ([]target, error) {
	dir, file := path.Split(of)
	name := dir + "_rels/" + file + ".rels"
	if !w.archive.has(name) {
		return nil, nil
	}
	var targets []target
	err := w.readPart(name, func(s *scanner) error {
		if err := s.root("Relationships"); err != nil {
			return err
		}
		for depth := s.depth(); ; {
			if ok, err := s.child(depth); !ok || err != nil {
				return err
			}
			t := target{}
			if err := s.attributes(func(key, value string) {
				switch key {
				case "Id":
					t.id = value
				case "Type":
					// The transitional and the strict names differ in all but the last step.
					t.kind = value[strings.LastIndexByte(value, '/')+1:]
				case "Target":
					t.part, t.address = resolve(dir, value), value
				case "TargetMode":
					t.external = strings.EqualFold(value, "External")
				}
			}); err != nil {
				return err
			}
			targets = append(targets, t)
		}
	})
	return targets, err
}

// resolve makes a target absolute: a leading slash means the root of the package, and anything else
// the directory of the part that names it.
func resolve(dir, targetName string) string {
	targetName = strings.ReplaceAll(targetName, `\`, "/")
	if !strings.HasPrefix(targetName, "/") {
		targetName = "/" + dir + targetName
	}
	return strings.TrimPrefix(path.Clean(targetName), "/")
}

// readWorkbook reads the list of sheets and the date system.
func (w *workbook) readWorkbook(s *scanner, targets []target) error {
	if err := s.root("workbook"); err != nil {
		return err
	}
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		switch string(s.name) {
		case "workbookPr":
			for {
				key, value, err := s.attr()
				if err != nil {
					return err
				}
				if key == nil {
					break
				}
				if string(key) == "date1904" {
					if isTrue(value) {
						w.epoch = 1904
					}
				}
			}
		case "externalReferences":
			w.links = true
		case "sheets":
			if err := w.readSheets(s, targets); err != nil {
				return err
			}
		}
	}
}

func (w *workbook) readSheets(s *scanner, targets []target) error {
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		if string(s.name) != "sheet" {
			continue
		}
		var found sheet
		id := ""
		if err := s.attributes(func(key, value string) {
			switch {
			case key == "name":
				found.name = value
			case key == "state":
				found.hidden = value != "visible"
			case strings.HasSuffix(key, ":id"):
				id = value
			}
		}); err != nil {
			return err
		}
		i := slices.IndexFunc(targets, func(t target) bool { return t.id == id })
		if i < 0 {
			return fmt.Errorf("sheet %.40q has no part: the file is damaged", found.name)
		}
		if targets[i].kind != "worksheet" {
			continue // a chart, a dialogue or a macro sheet has no cells
		}
		if targets[i].external {
			return fmt.Errorf("sheet %.40q lies outside the workbook, and links are not followed", found.name)
		}
		found.part = targets[i].part
		if int64(len(w.sheets)) >= w.limits.Entries {
			return &grid.LimitError{Limit: "entries", Value: w.limits.Entries + 1, Max: w.limits.Entries}
		}
		w.sheets = append(w.sheets, found)
	}
}

// isTrue reads a truth value of XML Schema, and the "on" of older files.
func isTrue(value []byte) bool {
	switch string(value) {
	case "1", "true", "on":
		return true
	}
	return false
}
