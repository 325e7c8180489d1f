//go:build unix

package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"maps"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// part is one file in an archive.
type part struct {
	name  string
	write func(w *bufio.Writer)
}

const relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"

// book are the parts of a workbook with one sheet, Finds.
func book(rows, texts func(*bufio.Writer)) []part {
	sheet := func(w *bufio.Writer) {
		w.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>No</t></is></c><c r="B1" t="inlineStr"><is><t>Depth</t></is></c><c r="C1" t="inlineStr"><is><t>Find</t></is></c></row>`)
		rows(w)
		w.WriteString("</sheetData></worksheet>")
	}
	shared := ""
	if texts != nil {
		shared = `<Relationship Id="r2" Type="` + relations + `/sharedStrings" Target="sharedStrings.xml"/>`
	}
	out := []part{
		{"[Content_Types].xml", text(`<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`)},
		{"_rels/.rels", text(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + relations + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`)},
		{"xl/workbook.xml", text(`<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="` +
			relations + `"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/></sheets></workbook>`)},
		{"xl/_rels/workbook.xml.rels", text(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + relations + `/worksheet" Target="worksheets/sheet1.xml"/>` + shared + `</Relationships>`)},
		{"xl/worksheets/sheet1.xml", sheet},
	}
	if texts != nil {
		out = append(out, part{"xl/sharedStrings.xml", texts})
	}
	return out
}

func zipping(parts []part) func(*bufio.Writer) {
	return func(w *bufio.Writer) {
		z := zip.NewWriter(w)
		for _, p := range parts {
			to, err := z.Create(p.name)
			if err != nil {
				continue
			}
			b := bufio.NewWriterSize(to, 1<<20)
			p.write(b)
			_ = b.Flush() // a bufio.Writer below, which tells at its end
		}
		_ = z.Close()
	}
}

const oneRow = `<row r="2"><c r="A2" t="inlineStr"><is><t>1</t></is></c><c r="B2" t="inlineStr"><is><t>8 in</t></is></c><c r="C2" t="inlineStr"><is><t>bell</t></is></c></row>`

// lying changes the sizes that the directory of an archive states.
func lying(packed, size uint32) func(*bufio.Writer) {
	return func(w *bufio.Writer) {
		var b bytes.Buffer
		in := bufio.NewWriter(&b)
		zipping(book(text(oneRow), nil))(in)
		_ = in.Flush()
		data := b.Bytes()
		for at := 0; ; at++ { // offsets of the ZIP application note, 4.3.12
			i := bytes.Index(data[at:], []byte("PK\x01\x02"))
			if i < 0 {
				break
			}
			at += i
			if bytes.HasPrefix(data[at+46:], []byte("xl/worksheets")) {
				binary.LittleEndian.PutUint32(data[at+20:], packed)
				binary.LittleEndian.PutUint32(data[at+24:], size)
			}
		}
		w.Write(data)
	}
}

// overlapping packs many names over the same packed bytes: each unpacks to ten million blanks.
func overlapping(names []string) func(*bufio.Writer) {
	return func(w *bufio.Writer) {
		var one bytes.Buffer
		z := zip.NewWriter(&one)
		to, err := z.Create(names[0])
		if err == nil {
			_, err = to.Write(bytes.Repeat([]byte(" "), 10_000_000))
		}
		if err != nil || z.Close() != nil {
			return
		}
		data := one.Bytes()
		end := bytes.LastIndex(data, []byte("PK\x05\x06"))
		start := bytes.LastIndex(data[:end], []byte("PK\x01\x02"))
		entry := data[start : start+46]
		w.Write(data[:start])
		size := 0
		for _, name := range names {
			e := bytes.Clone(entry)
			binary.LittleEndian.PutUint16(e[28:], uint16(len(name)))
			binary.LittleEndian.PutUint16(e[30:], 0)
			w.Write(e)
			w.WriteString(name)
			size += len(e) + len(name)
		}
		tail := bytes.Clone(data[end : end+22])
		binary.LittleEndian.PutUint16(tail[8:], uint16(len(names)))
		binary.LittleEndian.PutUint16(tail[10:], uint16(len(names)))
		binary.LittleEndian.PutUint32(tail[12:], uint32(size))
		binary.LittleEndian.PutUint32(tail[16:], uint32(start))
		w.Write(tail)
	}
}

func names(n int, form string) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf(form, i)
	}
	return out
}

func laughs(root string) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><!DOCTYPE ` + root + ` [<!ENTITY l0 "ha">`)
	for i := 1; i < 10; i++ {
		b.WriteString(`<!ENTITY l` + strconv.Itoa(i) + ` "` + strings.Repeat("&l"+strconv.Itoa(i-1)+";", 10) + `">`)
	}
	return b.String() + `]><` + root + `>&l9;</` + root + `>`
}

// hostileBooks are the workbooks of the table, with those that need more than rows and texts.
func hostileBooks(t *testing.T) map[string]hostile {
	t.Helper()
	all := cases.Table[map[string]hostile](t, "HostileBooks")
	maps.Copy(all, map[string]hostile{
		"an archive in it": {File: "a.xlsx", made: zipping(append(book(text(oneRow), nil),
			part{"xl/embeddings/a.zip", zipping([]part{{"b",
				func(w *bufio.Writer) { repeat(w, strings.Repeat("x", 1<<20), 100) }}})}))},
		"overlapping": {File: "a.xlsx", made: overlapping(append([]string{"xl/workbook.xml", "_rels/.rels",
			"[Content_Types].xml", "xl/worksheets/sheet1.xml"}, names(5000, "p%d")...)), Check: 2, Conv: 2, Says: "a.xlsx"},
		"many entries": {File: "a.xlsx", made: overlapping(names(60_000, "p%d")), Check: 2, Conv: 2,
			Says: "--limit entries=N"},
		"smaller than said": {File: "a.xlsx", made: lying(100, 50), Check: 2, Conv: 2, Says: "damaged"},
		"larger than said":  {File: "a.xlsx", made: lying(4_000_000_000, 4_000_000_000), Check: 2, Conv: 2, Says: "damaged"},
		"laughing sheet": {File: "a.xlsx", made: func(w *bufio.Writer) {
			parts := book(text(oneRow), nil)
			parts[4].write = text(laughs("worksheet"))
			zipping(parts)(w)
		}, Check: 2, Conv: 2, Says: "document type"},
		"macros, links": {File: "a.xlsx", made: zipping(append(book(text(oneRow), nil),
			part{"xl/vbaProject.bin", text("\xd0\xcf\x11\xe0 never run")},
			part{"xl/externalLinks/externalLink1.xml", text(`<externalLink><externalBook r:id="r1"/></externalLink>`)})),
			Says: "workbook-parts-ignored"},
		"a million people": {File: "a.xlsx", made: func(w *bufio.Writer) {
			parts := book(text(oneRow), nil)
			parts[2].write = text(`<workbook xmlns:r="` + relations +
				`"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/><sheet name="People" sheetId="2" r:id="r3"/></sheets></workbook>`)
			parts[3].write = text(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + relations + `/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r3" Type="` + relations + `/worksheet" Target="worksheets/sheet2.xml"/></Relationships>`)
			parts = append(parts, part{"xl/worksheets/sheet2.xml", func(w *bufio.Writer) {
				w.WriteString(`<worksheet><sheetData><row><c t="inlineStr"><is><t>id</t></is></c><c t="inlineStr"><is><t>roles.1000</t></is></c></row>`)
				for i := range 60_000 {
					fmt.Fprintf(w, `<row><c><v>%d</v></c><c><v>%d</v></c></row>`, i, i*7)
				}
				w.WriteString("</sheetData></worksheet>")
			}})
			zipping(parts)(w)
		}, Check: 2, Conv: 2, Says: "--limit header=N"},
		"no archive": {File: "a.xlsx", made: text("PK\x03\x04 but no more"), Check: 2, Conv: 2, Says: "a.xlsx"},
	})
	return all
}

// Workbooks that were made to do harm, or that are broken.
func TestHostileBooks(t *testing.T) {
	heavy.Test(t)
	for name, h := range hostileBooks(t) {
		t.Run(name, func(t *testing.T) { t.Parallel(); h.run(t) })
	}
}

// zipEntry is an entry of a hand-over as a zip file, written with a mode.
type zipEntry struct {
	name, text string
	mode       os.FileMode
}

func zipFile(t *testing.T, file string, entries ...zipEntry) {
	t.Helper()
	writing(t, file, func(w *bufio.Writer) {
		z := zip.NewWriter(w)
		for _, e := range entries {
			h := &zip.FileHeader{Name: e.name, Method: zip.Store, CRC32: crc32.ChecksumIEEE([]byte(e.text)),
				UncompressedSize64: uint64(len(e.text)), CompressedSize64: uint64(len(e.text))}
			h.SetMode(0o644 | e.mode)
			to, err := z.CreateRaw(h)
			if err == nil {
				_, err = io.WriteString(to, e.text)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
	})
}

// Hand-overs that lead outside, or that unpack to more than they should: refused, with nothing left
// behind and nothing written outside.
func TestHostileHandOvers(t *testing.T) {
	heavy.Test(t)
	tag := zipEntry{name: "s/bagit.txt", text: "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"}
	for name, entries := range map[string][]zipEntry{
		"traversal": {tag, {name: "../evil", text: "x"}}, "deeper traversal": {tag, {name: "s/../../evil", text: "x"}},
		"absolute": {tag, {name: "/tmp/evil", text: "x"}},
		"drive":    {tag, {name: `C:\evil`, text: "x"}}, "backslashes": {tag, {name: `..\evil`, text: "x"}},
		"link":   {tag, {name: "s/data", text: "/etc", mode: os.ModeSymlink}},
		"device": {tag, {name: "s/data", mode: os.ModeDevice}}, "pipe": {tag, {name: "s/data", mode: os.ModeNamedPipe}},
		"twice":          {tag, tag},
		"folder as file": {tag, {name: "s/bagit.txt/x", text: "x"}}, "no bag": {{name: "s/a", text: "x"}},
		"escape": {tag, {name: "s/\x1b[31m/../../x", text: "x"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			zipFile(t, filepath.Join(dir, "in.zip"), entries...)
			if r := hostileRun(t, dir, nil, "unpack", "in.zip", "-o", "out"); r.status != 2 {
				t.Errorf("unpack ends with %d and says %s", r.status, r.err)
			}
			tidy(t, dir, "in.zip")
		})
	}
	for name, h := range map[string]hostile{
		"blanks": {made: zipping([]part{{"s/bagit.txt",
			func(w *bufio.Writer) { repeat(w, strings.Repeat(" ", 1<<20), 300) }}}), Says: "--limit ratio=N"},
		"overlapping": {made: overlapping(names(20_000, "s/data/%d")), Says: "--limit ratio=N"},
		"many entries": {made: overlapping(names(60_000, "s/data/%d")), Says: "--limit bag-files=N",
			Limits: []string{"--limit", "bag-files=50000"}},
		"short lines": {made: zipping([]part{{"s/bagit.txt", text(tag.text)}, {"s/data/x", text("x")},
			{"s/manifest-md5.txt", func(w *bufio.Writer) { repeat(w, "x\n", 15_000_000) }}}), Says: "--limit bag-files=N",
			Limits: []string{"--limit", "ratio=none"}},
		"a long list": {made: zipping([]part{{"s/bagit.txt", text(tag.text)}, {"s/data/x", text("x")},
			{"s/manifest-md5.txt", func(w *bufio.Writer) { repeat(w, "\n", 34<<20) }}}), Says: "--limit bag-list=N",
			Limits: []string{"--limit", "ratio=none"}},
		"many bytes": {made: overlapping(names(100, "s/data/%d")), Says: "--limit bag-bytes=N",
			Limits: []string{"--limit", "bag-bytes=20MiB", "--limit", "ratio=none"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			writing(t, filepath.Join(dir, "in.zip"), h.write)
			if r := hostileRun(t, dir, nil, append(h.Limits, "unpack", "in.zip", "-o", "out")...); r.status != 2 ||
				!strings.Contains(r.err, h.Says) {
				t.Errorf("unpack ends with %d and says %s", r.status, r.err)
			}
			tidy(t, dir, "in.zip")
		})
	}
	t.Run("folder with a link", func(t *testing.T) {
		dir := hostileDir(t)
		if err := os.MkdirAll(filepath.Join(dir, "bag", "data"), 0o755); err != nil {
			t.Fatal(err)
		}
		writing(t, filepath.Join(dir, "bag", "bagit.txt"), text(tag.text))
		if err := os.Symlink("/etc/hostname", filepath.Join(dir, "bag", "data", "x")); err != nil {
			t.Fatal(err)
		}
		if r := hostileRun(t, dir, nil, "unpack", "bag"); r.status != 2 || !strings.Contains(r.err, "link") {
			t.Errorf("unpack ends with %d and says %s", r.status, r.err)
		}
	})
}
