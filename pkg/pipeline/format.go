package pipeline

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
)

// Format is one of the forms in which a find report travels.
type Format string

// The formats.
const (
	Findslip Format = "findslip" // native JSON
	JSONL    Format = "jsonl"
	GeoJSON  Format = "geojson"
	XLSX     Format = "xlsx"
	CSV      Format = "csv" // also with tabs or semicolons
	GPX      Format = "gpx"
	KML      Format = "kml"
	Tables   Format = "tables" // CSV files in an archive that says what is in them; read as a workbook is
	JSONLD   Format = "jsonld" // linked data, made of a report and not read
	GPKG     Format = "gpkg"   // GeoPackage, likewise, by programs built for it
)

// isTable reports whether finds are rows of a format.
func (f Format) isTable() bool { return f == XLSX || f == CSV || f == Tables }

// Formats returns all formats that are read and written, by name.
func Formats() []Format { return []Format{Findslip, JSONL, GeoJSON, XLSX, CSV, GPX, KML, Tables} }

// ParseFormat reads the name of a format; "json" and "tsv" are taken as well.
func ParseFormat(s string) (Format, error) {
	switch s {
	case "json":
		return Findslip, nil
	case "tsv":
		return CSV, nil
	}
	all := append(Formats(), JSONLD, GPKG)
	if slices.Contains(all, Format(s)) {
		return Format(s), nil
	}
	var names []string
	for _, f := range all {
		names = append(names, string(f))
	}
	return "", fmt.Errorf("format %q is not one of %s", s, strings.Join(names, ", "))
}

// FormatOfName tells the format of a file by its name, empty if the name does not tell.
func FormatOfName(name string) Format {
	if strings.HasSuffix(strings.ToLower(name), ".tables.zip") {
		return Tables
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".geojson":
		return GeoJSON
	case ".jsonl", ".ndjson":
		return JSONL
	case ".xlsx", ".xlsm", ".ods", ".xls", ".html", ".htm":
		return XLSX
	case ".csv", ".tsv", ".tab", ".txt":
		return CSV
	case ".gpx":
		return GPX
	case ".kml", ".kmz": // the reader of KML says what to do with an archive
		return KML
	case ".json":
		return Findslip
	case ".jsonld":
		return JSONLD
	case ".gpkg":
		return GPKG
	}
	return ""
}

// formatOf tells the format of an input by its name and, where that leaves a doubt, by its first
// bytes.
func formatOf(name string, head []byte) (Format, error) {
	byName, byContent := FormatOfName(name), formatOfContent(head)
	switch {
	case byName == Findslip && (byContent == GeoJSON || byContent == JSONL):
		return byContent, nil
	case byContent == XLSX && byName != XLSX && byName != KML,
		byName == XLSX && byContent != "" && byContent != XLSX && byContent != CSV,
		byContent == GPX && byName != GPX, byContent == KML && byName != KML:
		return byContent, nil // the content is certain, the name is wrong
	case byName != "":
		return byName, nil
	case byContent != "":
		return byContent, nil
	}
	return "", &InputError{Code: "format-unknown", Msg: "what kind of file this is cannot be told by its name or content",
		Help: "say it with --from: findslip, jsonl, geojson, xlsx, csv, tables, gpx or kml"}
}

// isPage reports whether a text begins as a web page or a table of one.
func isPage(text []byte) bool {
	lower := bytes.ToLower(text[:min(len(text), 64)])
	return bytes.HasPrefix(lower, []byte("<html")) || bytes.HasPrefix(lower, []byte("<!doctype html")) ||
		bytes.HasPrefix(lower, []byte("<table"))
}

// formatOfContent tells the format by the first bytes, empty if they do not tell.
func formatOfContent(head []byte) Format {
	head = bytes.TrimPrefix(head, []byte("\xef\xbb\xbf"))
	text := bytes.TrimLeft(head, " \t\r\n")
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0")):
		return XLSX // the reader of workbooks says what is wrong with an old or locked one
	case isPage(text):
		return XLSX // programs write tables of web pages under the name of a workbook
	case bytes.HasPrefix(text, []byte("{")):
		first, _, _ := bytes.Cut(text, []byte("\n"))
		squeezed := bytes.ReplaceAll(first, []byte(" "), nil)
		switch {
		case bytes.HasPrefix(squeezed, []byte(`{"type":"report"`)), bytes.HasPrefix(squeezed, []byte(`{"type":"find"`)):
			return JSONL
		case bytes.Contains(text, []byte(`"FeatureCollection"`)), bytes.Contains(text, []byte(`"Feature"`)):
			return GeoJSON
		}
		return Findslip
	case bytes.HasPrefix(text, []byte("<")) && bytes.Contains(text, []byte("<gpx")):
		return GPX
	case bytes.HasPrefix(text, []byte("<")) && bytes.Contains(text, []byte("<kml")):
		return KML
	case len(text) > 0 && !bytes.ContainsRune(text, 0):
		return CSV
	}
	return ""
}
