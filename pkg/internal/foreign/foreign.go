// Package foreign names files that cannot be read for what they are, and says what to do instead.
//
//	if what, help := foreign.Of("season.numbers", head); what != "" {
package foreign

import (
	"bytes"
	"path"
	"strings"
)

// HeadSize is how many bytes of the beginning of a file tell what it is.
const HeadSize = 4096

// kind is a sort of file that is not read.
type kind struct {
	what, help string
	ends       string   // of the name, with blanks between them; empty if only the contents tell
	begins     []string // of the contents
	holds      []string // within the first bytes
}

const (
	asGPX     = "open it in its program and save it as GPX or GeoJSON"
	textIsLog = "type the finds into a sheet, one a row, and save it as .xlsx or .csv"
)

// kinds are in the order in which they are asked. The first bytes are common practice, as file(1) of most systems
// knows them.
var kinds = []kind{
	{what: "a Numbers document", help: "in Numbers choose File, Export To, Excel or CSV", ends: ".numbers",
		holds: []string{"Index/Document.iwa", "Index/Tables/", "Index/CalculationEngine"}},
	{what: "a Pages document", help: textIsLog, ends: ".pages"},
	{what: "a text document of a word processor", help: textIsLog, ends: ".doc .docx .odt .rtf",
		begins: []string{`{\rtf`}, holds: []string{"word/document.xml", "mimetypeapplication/vnd.oasis.opendocument.text"}},
	{what: "a presentation", help: textIsLog, ends: ".ppt .pptx .odp", holds: []string{"ppt/presentation.xml"}},
	{what: "a PDF", help: "a PDF is a picture of a table; ask for the table it was made from, or " + textIsLog,
		begins: []string{"%PDF"}},
	{what: "a GeoPackage or another database file", help: asGPX, ends: ".gpkg .sqlite .db",
		begins: []string{"SQLite format 3\x00"}},
	{what: "a database of Access", help: "export the table as .xlsx or .csv", ends: ".mdb .accdb",
		begins: []string{"\x00\x01\x00\x00Standard Jet DB", "\x00\x01\x00\x00Standard ACE DB"}},
	{what: "a shapefile, or one of its parts", help: asGPX, ends: ".shp .shx .dbf .prj .cpg",
		begins: []string{"\x00\x00\x27\x0a\x00\x00\x00\x00"}},
	{what: "a link to a file, not the file",
		help:   "open the link, save the sheet on this machine as .xlsx, and give that file",
		ends:   ".lnk .url .webloc .gsheet .gdoc",
		begins: []string{"[InternetShortcut]", "L\x00\x00\x00\x01\x14\x02\x00"}},
	{what: "a photo or another picture", help: "give the log that names it; pictures lie in a folder beside the log",
		ends:   ".jpg .jpeg .png .gif .heic .heif .tif .tiff .webp .bmp .dng",
		begins: []string{"\xff\xd8\xff", "\x89PNG\r\n", "GIF8", "II*\x00", "MM\x00*"},
		holds:  []string{"ftypheic", "ftypheix", "ftypmif1", "ftypavif"}},
	{what: "a film or a sound", help: "give the log that names it", ends: ".mp4 .mov .m4a .mp3 .wav",
		holds: []string{"ftypqt  ", "ftypmp4", "ftypisom"}},
	{what: "an archive of a kind that is not read", help: "unpack it, and give the files in it",
		ends:   ".rar .7z .tar .tgz .bz2 .xz",
		begins: []string{"Rar!", "7z\xbc\xaf\x27\x1c", "BZh", "\xfd7zXZ\x00"}},
	{what: "a spreadsheet of a kind that is not read", help: "open it and save it as .xlsx",
		ends: ".xlsb .wks .wk1 .wb3 .sxc .fods .et"},
	{what: "a message of an e-mail program", help: "save the file that came with it, and give that", ends: ".eml .msg"},
	{what: "a program", help: "give the file with the finds", begins: []string{"MZ", "\x7fELF"}},
}

// Of returns what a file is that cannot be read, and what to do; empty texts for any other file. What the
// contents say goes before what the name says.
func Of(name string, head []byte) (what, help string) {
	text := bytes.TrimPrefix(head, []byte("\xef\xbb\xbf"))
	for _, k := range kinds {
		for _, b := range k.begins {
			if bytes.HasPrefix(text, []byte(b)) {
				return k.what, k.help
			}
		}
		for _, h := range k.holds {
			if bytes.HasPrefix(head, []byte("PK\x03\x04")) == strings.Contains(h, "/") &&
				bytes.Contains(head[:min(len(head), HeadSize)], []byte(h)) {
				return k.what, k.help
			}
		}
	}
	end := strings.ToLower(path.Ext(name))
	if end == "" || readable(text) {
		return "", ""
	}
	for _, k := range kinds {
		for _, e := range strings.Fields(k.ends) {
			if e == end {
				return k.what, k.help
			}
		}
	}
	return "", ""
}

// readable reports whether the contents are of a kind that is read whatever the name: text, or a workbook.
func readable(head []byte) bool {
	switch {
	case bytes.Contains(head, []byte("xl/w")), bytes.Contains(head, []byte("opendocument.spreadsheet")):
		return true
	case bytes.HasPrefix(head, []byte("PK")), bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0")):
		return false
	}
	return len(head) > 0 && bytes.IndexByte(head, 0) < 0 && !bytes.HasPrefix(head, []byte("{\"url\""))
}
