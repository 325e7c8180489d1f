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
	"os"
	"path/filepath"
	"strings"
	"testing"

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

var hostileBooks = map[string]hostile{
	"blanks": {file: "a.xlsx", make: zipping(book(func(w *bufio.Writer) { repeat(w, strings.Repeat(" ", 1<<20), 600) },
		nil)), check: 2, conv: 2, says: "--limit ratio=N"},
	"a bomb that is trusted": {file: "a.xlsx",
		make: zipping(book(func(w *bufio.Writer) { repeat(w, strings.Repeat(" ", 1<<20), 600) }, nil)), check: 2, conv: 2,
		says:   "--limit expanded=N",
		limits: []string{"--limit", "ratio=none"}},
	"an archive in it": {file: "a.xlsx", make: zipping(append(book(text(oneRow), nil),
		part{"xl/embeddings/a.zip", zipping([]part{{"b",
			func(w *bufio.Writer) { repeat(w, strings.Repeat("x", 1<<20), 100) }}})})), check: 0, conv: 0},
	"overlapping": {file: "a.xlsx", make: overlapping(append([]string{"xl/workbook.xml", "_rels/.rels",
		"[Content_Types].xml", "xl/worksheets/sheet1.xml"}, names(5000, "p%d")...)), check: 2, conv: 2, says: "a.xlsx"},
	"many entries": {file: "a.xlsx", make: overlapping(names(60_000, "p%d")), check: 2, conv: 2,
		says: "--limit entries=N"},
	"smaller than said": {file: "a.xlsx", make: lying(100, 50), check: 2, conv: 2, says: "damaged"},
	"larger than said":  {file: "a.xlsx", make: lying(4_000_000_000, 4_000_000_000), check: 2, conv: 2, says: "damaged"},
	"laughing sheet": {file: "a.xlsx", make: func(w *bufio.Writer) {
		parts := book(text(oneRow), nil)
		parts[4].write = text(laughs("worksheet"))
		zipping(parts)(w)
	}, check: 2, conv: 2, says: "document type"},
	"external entity": {file: "a.xlsx", make: zipping(book(text(`<row r="2"><c r="A2" t="s"><v>0</v></c></row>`),
		text(`<!DOCTYPE sst [<!ENTITY x SYSTEM "file:///etc/passwd">]><sst><si><t>&x;</t></si></sst>`))), check: 2, conv: 2,
		says: "document type"},
	"far cell": {file: "a.xlsx", make: zipping(book(text(oneRow+
		`<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>`), nil)), check: 0, conv: 0},
	"beyond the end": {file: "a.xlsx", make: zipping(book(text(oneRow+
		`<row r="1048577"><c r="A1048577"><v>1</v></c></row>`), nil)), check: 2, conv: 2, says: "1048576"},
	"million columns": {file: "a.xlsx", make: zipping(book(func(w *bufio.Writer) {
		w.WriteString(`<row r="2">`)
		repeat(w, "<c><v>1</v></c>", 1_000_000)
		w.WriteString("</row>")
	}, nil)), check: 2, conv: 2, says: "--limit columns=N"},
	"long text": {file: "a.xlsx", make: zipping(book(func(w *bufio.Writer) {
		w.WriteString(`<row r="2"><c r="A2" t="inlineStr"><is><t>`)
		repeat(w, "x", 3<<20)
		w.WriteString("</t></is></c></row>")
	}, nil)), check: 2, conv: 2, says: "--limit cell=N"},
	"many texts": {file: "a.xlsx", make: zipping(book(text(`<row r="2"><c r="A2" t="s"><v>0</v></c></row>`),
		func(w *bufio.Writer) {
			w.WriteString("<sst>")
			repeat(w, "<si><t>a</t></si>", 6_000_000)
			w.WriteString("</sst>")
		})), check: 2, conv: 2, says: "--limit",
		limits: []string{"--limit", "ratio=none"}},
	"one text in many cells": {file: "a.xlsx", make: zipping(book(func(w *bufio.Writer) {
		w.WriteString(`<row r="2">`)
		repeat(w, `<c t="s"><v>0</v></c>`, 10_000)
		w.WriteString("</row>")
	}, func(w *bufio.Writer) {
		w.WriteString("<sst><si><t>")
		repeat(w, "x", 1_000_000)
		w.WriteString("</t></si></sst>")
	})), check: 2, conv: 2, says: "--limit row=N"},
	"one text in many rows": {file: "a.xlsx", make: zipping(book(func(w *bufio.Writer) {
		repeat(w, `<row><c t="s"><v>0</v></c></row>`, 20_000)
	}, func(w *bufio.Writer) {
		w.WriteString("<sst><si><t>")
		repeat(w, "x", 1_000_000)
		w.WriteString("</t></si></sst>")
	})), check: 2, conv: 2, says: "--limit expanded=N", limits: []string{"--limit", "expanded=30MiB"}},
	"deep sheet": {file: "a.xlsx", make: zipping(book(func(w *bufio.Writer) { repeat(w, "<a>", 100_000) }, nil)),
		check: 2, conv: 2, says: "nested"},
	"macros, links": {file: "a.xlsx", make: zipping(append(book(text(oneRow), nil),
		part{"xl/vbaProject.bin", text("\xd0\xcf\x11\xe0 never run")},
		part{"xl/externalLinks/externalLink1.xml", text(`<externalLink><externalBook r:id="r1"/></externalLink>`)})),
		check: 0, conv: 0, says: "workbook-parts-ignored"},
	"formula": {file: "a.xlsx", make: zipping(book(text(`<row r="2"><c r="A2" t="str"><f>HYPERLINK("http://thornmere.example","1")</f><v>1</v></c><c r="B2" t="inlineStr"><is><t>=cmd|' /C calc'!A0</t></is></c></row>`), nil)), check: 0, conv: 0, says: "quantity-not-read"},
	"a million people": {file: "a.xlsx", make: func(w *bufio.Writer) {
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
	}, check: 2, conv: 2, says: "--limit header=N"},
	"no archive": {file: "a.xlsx", make: text("PK\x03\x04 but no more"), check: 2, conv: 2, says: "a.xlsx"},
}

// Workbooks that were made to do harm, or that are broken.
func TestHostileBooks(t *testing.T) {
	heavy.Test(t)
	for name, h := range hostileBooks {
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
		"blanks": {make: zipping([]part{{"s/bagit.txt",
			func(w *bufio.Writer) { repeat(w, strings.Repeat(" ", 1<<20), 300) }}}), says: "--limit ratio=N"},
		"overlapping": {make: overlapping(names(20_000, "s/data/%d")), says: "--limit ratio=N"},
		"many entries": {make: overlapping(names(60_000, "s/data/%d")), says: "--limit bag-files=N",
			limits: []string{"--limit", "bag-files=50000"}},
		"short lines": {make: zipping([]part{{"s/bagit.txt", text(tag.text)}, {"s/data/x", text("x")},
			{"s/manifest-md5.txt", func(w *bufio.Writer) { repeat(w, "x\n", 15_000_000) }}}), says: "--limit bag-files=N",
			limits: []string{"--limit", "ratio=none"}},
		"a long list": {make: zipping([]part{{"s/bagit.txt", text(tag.text)}, {"s/data/x", text("x")},
			{"s/manifest-md5.txt", func(w *bufio.Writer) { repeat(w, "\n", 34<<20) }}}), says: "--limit bag-list=N",
			limits: []string{"--limit", "ratio=none"}},
		"many bytes": {make: overlapping(names(100, "s/data/%d")), says: "--limit bag-bytes=N",
			limits: []string{"--limit", "bag-bytes=20MiB", "--limit", "ratio=none"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			writing(t, filepath.Join(dir, "in.zip"), h.make)
			if r := hostileRun(t, dir, nil, append(h.limits, "unpack", "in.zip", "-o", "out")...); r.status != 2 ||
				!strings.Contains(r.err, h.says) {
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
