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
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
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
		w.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">` +
			`<c r="A1" t="inlineStr"><is><t>No</t></is></c><c r="B1" t="inlineStr"><is><t>Depth</t></is></c><c r="C1" ` +
			`t="inlineStr"><is><t>Find</t></is></c></row>`)
		rows(w)
		w.WriteString("</sheetData></worksheet>")
	}
	shared := ""
	if texts != nil {
		shared = `<Relationship Id="r2" Type="` + relations + `/sharedStrings" Target="sharedStrings.xml"/>`
	}
	out := []part{
		{"[Content_Types].xml",
			text(`<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ` +
				`ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ` +
				`ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override ` +
				`PartName="/xl/worksheets/sheet1.xml" ` +
				`ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`)},
		{"_rels/.rels",
			text(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" ` +
				`Type="` + relations + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`)},
		{"xl/workbook.xml", text(`<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="` +
			relations + `"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/></sheets></workbook>`)},
		{"xl/_rels/workbook.xml.rels",
			text(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" ` +
				`Type="` + relations + `/worksheet" Target="worksheets/sheet1.xml"/>` + shared + `</Relationships>`)},
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

const oneRow = `<row r="2"><c r="A2" t="inlineStr"><is><t>1</t></is></c><c r="B2" t="inlineStr"><is><t>8 in</t></is>` +
	`</c><c r="C2" t="inlineStr"><is><t>bell</t></is></c></row>`

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
				`"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/><sheet name="People" sheetId="2" r:id="r3"/></sheets>` +
				`</workbook>`)
			parts[3].write = text(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
				`<Relationship Id="r1" Type="` + relations +
				`/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r3" Type="` + relations +
				`/worksheet" Target="worksheets/sheet2.xml"/></Relationships>`)
			parts = append(parts, part{"xl/worksheets/sheet2.xml", func(w *bufio.Writer) {
				w.WriteString(`<worksheet><sheetData><row><c t="inlineStr"><is><t>id</t></is></c><c t="inlineStr"><is>` +
					`<t>roles.1000</t></is></c></row>`)
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

// What reads a file beside check and convert holds to the same: nothing is left behind when it fails, the input stays
// as it was, and memory is bounded.
func TestHostileCommands(t *testing.T) {
	heavy.Test(t)
	all := map[string]hostile{}
	for kind, list := range map[string]map[string]hostile{"text": hostileTexts(t), "book": hostileBooks(t),
		"finds": cases.Table[map[string]hostile](t, "HostileFinds")} {
		for name, h := range list {
			all[kind+" "+name] = h
		}
	}
	for name, h := range all {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			file := filepath.Join(dir, h.File)
			writing(t, file, h.write)
			before := sumOf(t, file)
			commands := map[string][]string{
				"proposals.json": {"repair", h.File, "-o", "proposals.json"},
				"public.geojson": {"share", h.File, "--for", "public", "-o", "public.geojson", "--no-register"},
				"out.zip":        {"pack", h.File, "-o", "out.zip"}, "map.json": {"columns", h.File, "-o", "map.json"},
				"page.html": {"check", h.File, "--report", "html", "--with-places", "-o", "page.html"},
			}
			limits := h.Limits
			// that they end at 200,000 is shown by check; what so many cost each command, by "empty people"
			if strings.Contains(h.Says, "notices=") {
				limits = []string{"--limit", "notices=20000"}
			}
			for out, args := range commands {
				r := hostileRun(t, dir, nil, append(slices.Clone(limits), args...)...)
				// columns reads headings, and some rows; share counts no notices
				if h.Check == 2 && h.Conv == 2 && r.status != 2 && args[0] != "columns" && !strings.Contains(h.Says, "notices=") {
					t.Errorf("%v ends with %d and says %.300s", args, r.status, r.err)
				}
				left := []string{h.File}
				if _, err := os.Lstat(filepath.Join(dir, out)); err == nil && r.status < 2 {
					left = append(left, out)
				} else if r.status == 0 {
					t.Errorf("%v ends well and makes nothing", args)
				}
				tidy(t, dir, left...)
				if err := os.RemoveAll(filepath.Join(dir, out)); err != nil {
					t.Fatal(err)
				}
			}
			if sumOf(t, file) != before {
				t.Error("the input was changed")
			}
		})
	}
}

// handOver makes what the commands of a long job start from.
func handOver(t *testing.T, dir string) (there []string) {
	t.Helper()
	writing(t, filepath.Join(dir, "long.jsonl"), func(w *bufio.Writer) {
		w.WriteString(lineHead)
		for i := range 15_000 {
			fmt.Fprintf(w,
				`{"type":"find","find":{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-%012x","number":"%d","name":"crotal bell",`+
					`"depth":{"verbatim":"08-Sep"},"position":{"latitude":52.5,"longitude":-1.2}}}`+"\n", i, i)
		}
		w.WriteString(`{"type":"end","finds":15000}` + "\n")
	})
	for _, args := range [][]string{{"pack", "long.jsonl", "-o", "in.zip"},
		{"convert", "long.jsonl", "-o", "in.xlsx", "--quiet"}, {"repair", "long.jsonl", "-o", "proposals.json"}} {
		if r := hostileRun(t, dir, nil, args...); r.status == 2 {
			t.Fatal(r.err)
		}
	}
	return []string{"long.jsonl", "in.zip", "in.xlsx", "proposals.json"}
}

var longJobs = [][]string{
	{"repair", "in.xlsx", "-o", "out.json"},
	{"repair", "long.jsonl", "--accept", "proposals.json", "-o", "out.findslip.json"},
	{"share", "long.jsonl", "--for", "recorder", "-o", "out.findslip.json", "--no-register"},
	{"share", "long.jsonl", "--for", "expert", "-o", "out.html", "--no-register"},
	{"pack", "long.jsonl", "-o", "out.zip"}, {"pack", "long.jsonl", "-o", "out"}, {"unpack", "in.zip", "-o", "out"},
	{"check", "long.jsonl", "--report", "json", "-o", "out.json"}, {"check", "in.xlsx", "--mark", "out.xlsx"},
	{"convert", "in.xlsx", "-o", "out.geojson", "--quiet"},
	{"convert", "long.jsonl", "-o", "out.gpx", "--since", "long.jsonl", "--quiet"},
	{"convert", "long.jsonl", "-o", "out.findslip.json", "--quiet"}, {"convert", "long.jsonl", "-o", "out.xlsx",
		"--quiet"},
	{"convert", "long.jsonl", "-o", "out.csv", "--quiet"}, {"convert", "long.jsonl", "-o", "out.kml", "--quiet"},
}

// What may come between a job and its end, in one folder.
func TestEveryJob(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	there := handOver(t, dir)
	t.Run("full disk", func(t *testing.T) { fullDiskOfEveryJob(t, dir, there) })
	t.Run("interrupted", func(t *testing.T) { everyJobInterrupted(t, dir, there) })
	t.Run("closed pipe", func(t *testing.T) { closedPipeOfEveryJob(t, dir, there) })
}

// A disk that is full in the middle of any job: an error that says so, and nothing half written.
func fullDiskOfEveryJob(t *testing.T, dir string, there []string) {
	for _, args := range longJobs {
		c := exec.CommandContext(t.Context(), "sh",
			append([]string{"-c", `ulimit -f 60; exec findslip "$@"`, "sh"}, args...)...)
		c.Dir, c.Env = dir, append(os.Environ(), "TMPDIR="+filepath.Join(dir, "tmp"))
		text, _ := c.CombinedOutput()
		if c.ProcessState.ExitCode() != 2 || !strings.Contains(string(text), "too large") || strings.Contains(string(text),
			"goroutine") {
			t.Errorf("%v ends with %d and says %.300s", args, c.ProcessState.ExitCode(), text)
		}
		tidy(t, dir, there...)
	}
	if runtime.GOOS != "linux" {
		return // /dev/full is of Linux (full(4))
	}
	for _, args := range []string{"convert long.jsonl --to csv -o - --quiet", "check long.jsonl --report json", "rules",
		"limits", "read length 8in", "schema", "explain unit-missing", "rules --json"} {
		c := exec.CommandContext(t.Context(), "sh", "-c", "exec findslip "+args+" >/dev/full")
		c.Dir, c.Env = dir, append(os.Environ(), "TMPDIR="+filepath.Join(dir, "tmp"))
		if text, _ := c.CombinedOutput(); c.ProcessState.ExitCode() != 2 || !strings.Contains(string(text), "no space left") {
			t.Errorf("%s ends with %d and says %s", args, c.ProcessState.ExitCode(), text)
		}
		tidy(t, dir, there...)
	}
}

// Ctrl-C in the middle of any job.
func everyJobInterrupted(t *testing.T, dir string, there []string) {
	if runtime.GOOS != "linux" {
		return // what a process has opened is seen in /proc (proc(5))
	}
	for _, args := range longJobs {
		c := command(t.Context(), dir, args...)
		stopped(t, c, os.Interrupt, func() bool { return hasOpen(c.Process.Pid, filepath.Join(dir, args[1])) })
		tidy(t, dir, there...)
	}
}

// hasOpen reports whether a process has a file open.
func hasOpen(pid int, name string) bool {
	name, err := filepath.EvalSymlinks(name)
	if err != nil {
		return false
	}
	handles, _ := filepath.Glob(fmt.Sprintf("/proc/%d/fd/*", pid))
	for _, handle := range handles {
		if to, err := os.Readlink(handle); err == nil && to == name {
			return true
		}
	}
	return false
}

// A reader that goes away, whatever it was reading.
func closedPipeOfEveryJob(t *testing.T, dir string, there []string) {
	for _, args := range [][]string{
		{"share", "long.jsonl", "--for", "public", "--format", "jsonl", "-o", "-", "--no-register"},
		{"convert", "in.xlsx", "--to", "geojson", "-o", "-", "--quiet"}, {"check", "in.xlsx", "--report", "html"},
		{"check", "long.jsonl", "--report", "sarif"}, {"check", "long.jsonl", "--report", "csv"}, {"columns", "in.xlsx"},
		{"schema"}, {"limits"}, {"completion", "bash"}, {"rules", "--json"},
	} {
		walksAway(t, dir, args)
		tidy(t, dir, there...)
	}
}

// Whatever is named as output, what is read is not lost: not by another way to its name, nor by a link.
func TestInputIsNeverReplaced(t *testing.T) {
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), text("No,Depth (in),Find\n1,8,bell\n"))
	if r := hostileRun(t, dir, nil, "convert", "a.csv", "-o", "a.findslip.json", "--quiet"); r.status == 2 {
		t.Fatal(r.err)
	}
	if err := os.Symlink("a.csv", filepath.Join(dir, "link.csv")); err != nil {
		t.Fatal(err)
	}
	if err := os.Link(filepath.Join(dir, "a.csv"), filepath.Join(dir, "hard.csv")); err != nil {
		t.Fatal(err)
	}
	before, other := sumOf(t, filepath.Join(dir, "a.csv")), sumOf(t, filepath.Join(dir, "a.findslip.json"))
	for _, out := range []string{"a.csv", "./a.csv", "tmp/../a.csv", filepath.Join(dir, "a.csv"), "link.csv", "hard.csv"} {
		for _, args := range [][]string{
			{"convert", "a.csv", "-o", out, "--force"}, {"convert", "a.csv", "-o", "out.csv", "--notices", out, "--force"},
			{"repair", "a.csv", "-o", out, "--force"}, {"columns", "a.csv", "-o", out, "--force"},
			{"check", "a.csv", "--report", "json", "-o", out, "--force"},
			{"share", "a.csv", "--for", "public", "-o", out, "--force", "--no-register"},
			{"check", out, "--report", "csv", "-o", "a.csv", "--force"},
			{"convert", "a.findslip.json", "--since", "a.csv", "--to", "csv", "-o", out, "--force"},
			{"pack", "a.csv", "-o", out, "--force"},
		} {
			if r := hostileRun(t, dir, nil, args...); r.status != 2 {
				t.Errorf("%v ends with %d and says %.300s", args, r.status, r.err)
			}
			if sumOf(t, filepath.Join(dir, "a.csv")) != before || sumOf(t, filepath.Join(dir, "a.findslip.json")) != other {
				t.Fatalf("%v changed what it read", args)
			}
		}
	}
	tidy(t, dir, "a.csv", "a.findslip.json", "link.csv", "hard.csv")
}

// Pipes by name are for what can be read once; what needs more says so at once and waits for nobody.
func TestNamedPipes(t *testing.T) {
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), text("No,Depth (in)\n1,8\n"))
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"unpack", "pipe", "-o", "out"}, {"check", "a.csv", "--columns", "pipe"}, {"check", "a.csv", "--protected", "pipe"},
		{"check", "a.csv", "--baseline", "pipe"}, {"check", "a.csv", "--pictures", "pipe"},
		{"repair", "a.csv", "--accept", "pipe", "-o", "out.csv"},
		{"convert", "a.csv", "--to", "csv", "-o", "pipe", "--force"},
	} {
		if r := hostileRun(t, dir, nil, args...); r.status != 2 || !strings.Contains(r.err, "pipe") {
			t.Errorf("%v ends with %d: %s", args, r.status, r.err)
		}
	}
	tidy(t, dir, "a.csv", "pipe")
}

// A pipe to which nobody writes is refused and not waited for.
func TestPipeWithoutWriter(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe"), 0o644); err != nil {
		t.Fatal(err)
	}
	if r := hostileRun(t, dir, nil, "check", "pipe"); r.status != 2 || !strings.Contains(r.err, "nobody writes to it") {
		t.Errorf("it ends with %d: %s", r.status, r.err)
	}
}
