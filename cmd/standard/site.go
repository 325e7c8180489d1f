package main

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"html"
	"io"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// doSite makes the files of the home of the standard: a page for each paper, each code of a notice and each code
// of a list, in HTML for people and JSON and Turtle for machines, the schemas and the context, and the rules of
// redirection of the permanent names. Nothing of it is published by this command.
func doSite(_ context.Context, flags *flag.FlagSet, args []string, out, _ io.Writer) error {
	root := flags.String("root", ".", "`folder` of the project")
	to := flags.String("o", "", "new `folder` to write")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *to == "" {
		return errors.New("needs a new folder: standard site -o FOLDER")
	}
	if err := os.Mkdir(*to, 0o755); err != nil {
		return err
	}
	s := &site{root: *root, to: *to}
	for _, step := range []func() error{s.papers, s.codes, s.lists, s.schemas, s.linked, s.redirects} {
		if err := step(); err != nil {
			return err
		}
	}
	fmt.Fprintf(out, "%d files in %s\n", s.files, *to)
	return nil
}

type site struct {
	root, to string
	files    int
}

// put writes one file.
func (s *site) put(name, text string) error {
	s.files++
	file := filepath.Join(s.to, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return err
	}
	return os.WriteFile(file, []byte(text), 0o644)
}

const style = `body{font:1rem/1.55 system-ui,sans-serif;max-width:52rem;margin:0 auto;padding:1rem;color:#1c1c1c;background:#fff}
a{color:#1d4f2b}h1{font-size:1.7rem;line-height:1.2}h2{margin-top:2.5rem;border-bottom:1px solid #bbb}pre{overflow-x:auto;background:#f3f1ea;padding:.75rem;font-size:.85rem}
code{font-size:.9em;background:#f3f1ea;overflow-wrap:anywhere}pre code{font-size:1em}.wide{overflow-x:auto}table{border-collapse:collapse;font-size:.9rem}th,td{border:1px solid #bbb;padding:.3rem .5rem;text-align:left;vertical-align:top}
th{background:#f3f1ea}nav{font-size:.9rem;margin-bottom:1rem}li{margin:.3rem 0}`

// page wraps a text as a page; up is the way from it to the top.
func page(title, up, body string) string {
	return fmt.Sprintf(`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>%s</title><style>%s</style></head>
<body><nav aria-label="Papers"><a href="%sSPEC.html">Findslip 1.0</a> · <a href="%sschema/spec/simple.html">Simple</a> · <a href="%sschema/spec/guide.html">Guide</a> · <a href="%sschema/spec/primer.html">Primer</a></nav>
<main>
%s</main></body></html>
`, html.EscapeString(title), style, up, up, up, up, body)
}

// up is the way from a file to the top.
func up(name string) string { return strings.Repeat("../", strings.Count(name, "/")) }

// papers renders the papers, with their folders, so that their links hold.
func (s *site) papers() error {
	var names []string
	for _, pattern := range []string{"SPEC.md", "schema/spec/*.md", "schema/spec/lookup/*.md", "schema/grammar/README.md",
		"testdata/suite/README.md", "examples/profiles/*.md"} {
		found, err := filepath.Glob(filepath.Join(s.root, filepath.FromSlash(pattern)))
		if err != nil {
			return err
		}
		names = append(names, found...)
	}
	for _, file := range names {
		raw, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(s.root, file)
		if err != nil {
			return err
		}
		name = strings.TrimSuffix(filepath.ToSlash(name), ".md") + ".html"
		title, _, _ := strings.Cut(strings.TrimPrefix(string(raw), "# "), "\n")
		if err := s.put(name, page(title, up(name), render(string(raw)))); err != nil {
			return err
		}
	}
	return s.put("index.html", page("Findslip", "", render(front())))
}

// front is the first page: where each thing is, and what stands where nothing is published yet.
func front() string {
	var out strings.Builder
	out.WriteString(`# Findslip

An open form for reports of finds: what was found, where, how deep, of what, when and by whom, as it was written
and as it was read. This is the home of its first version, ready to be published; the permanent names hold from the day
that it is.

- [The specification](SPEC.html), with an [index of its parts](SPEC.html#contents)
- [Findslip Simple](schema/spec/simple.html): about fifteen members, for a first program
- [The guide](schema/spec/guide.html): write a record, read a file, answer an expert
- [The primer](schema/spec/primer.html): why it is as it is
- [What a check may say](schema/spec/lookup/codes.html): a page for each notice
- [Profiles](schema/spec/profiles.html): what a body asks for, as a file
- [Schema of a report](1/report.schema.json) and [context for linked data](1/context.jsonld)

## Lists of codes

`)
	for _, list := range vocabulary.Lists() {
		fmt.Fprintf(&out, "- [%s](1/vocabulary/%s.html)\n", vocabulary.Get(list).Title, list)
	}
	return out.String()
}

// codes writes a page for each code of a notice, from the sections of one paper.
func (s *site) codes() error {
	raw, err := os.ReadFile(filepath.Join(s.root, "schema", "spec", "lookup", "codes.md"))
	if err != nil {
		return err
	}
	for _, section := range strings.Split(string(raw), "\n## ")[1:] {
		code, body, _ := strings.Cut(section, "\n")
		body = strings.ReplaceAll(body, "](../../../", "](../../")
		name := "1/notice/" + code + ".html"
		if err := s.put(name, page(code, up(name), render("# "+code+"\n"+body))); err != nil {
			return err
		}
	}
	return nil
}

// lists writes each code list, and each code on it, for people and for machines.
func (s *site) lists() error {
	for _, list := range vocabulary.Lists() {
		scheme := vocabulary.Get(list)
		raw, err := schema.Vocabulary.ReadFile("vocabulary/" + list + ".json")
		if err != nil {
			return err
		}
		base := "1/vocabulary/" + list
		var rows, turtle strings.Builder
		iri := schema.Base + "vocabulary/" + list
		const prefix = "@prefix skos: <http://www.w3.org/2004/02/skos/core#> .\n\n"
		fmt.Fprintf(&turtle, "%s<%s> a skos:ConceptScheme ; skos:prefLabel %s .\n", prefix, iri, literal(scheme.Title, "en"))
		fmt.Fprintf(&rows, "# %s\n\n%s\n\n| code | label |\n|---|---|\n", scheme.Title, scheme.Description)
		for _, c := range scheme.Concepts {
			fmt.Fprintf(&rows, "| [`%s`](%s/%s.html) | %s |\n", c.Code, list, c.Code, cell(c.Label("en")))
			one := fmt.Sprintf("<%s/%s> a skos:Concept ; skos:inScheme <%s> ; skos:notation %q", iri, c.Code, iri, c.Code)
			var labels []string
			for _, language := range slices.Sorted(maps.Keys(c.PrefLabel)) { // no word of one language under another's name
				one += " ; skos:prefLabel " + literal(c.PrefLabel[language], language)
				labels = append(labels, fmt.Sprintf("| %s | %s | %s |", language, cell(c.PrefLabel[language]),
					cell(strings.Join(c.AltLabel[language], ", "))))
			}
			one += " .\n"
			turtle.WriteString(one)
			name := base + "/" + c.Code
			text := fmt.Sprintf("# %s\n\n%s\n\nA code of the list [%s](../%s.html). Its permanent name is `%s/%s`.\n\n"+
				"| language | label | also read |\n|---|---|---|\n%s\n", c.Label("en"), cmp.Or(c.ScopeNote, scheme.Description),
				scheme.Title, list, iri, c.Code, strings.Join(labels, "\n"))
			entry, err := concept(raw, c.Code)
			if err != nil {
				return err
			}
			if err := errors.Join(s.put(name+".html", page(c.Code, up(name), render(text))), s.put(name+".ttl", prefix+one),
				s.put(name+".json", entry)); err != nil {
				return err
			}
		}
		if err := errors.Join(s.put(base+".html", page(scheme.Title, up(base), render(rows.String()))),
			s.put(base+".ttl", turtle.String()), s.put(base+".json", string(raw))); err != nil {
			return err
		}
	}
	return nil
}

// concept returns one concept of a list as it is written there.
func concept(list []byte, code string) (string, error) {
	var all struct {
		Concepts []json.RawMessage `json:"concepts"`
	}
	if err := json.Unmarshal(list, &all); err != nil {
		return "", err
	}
	i := slices.IndexFunc(all.Concepts, func(raw json.RawMessage) bool {
		var c struct {
			Code string `json:"code"`
		}
		return json.Unmarshal(raw, &c) == nil && c.Code == code
	})
	if i < 0 {
		return "", fmt.Errorf("no code %q", code)
	}
	return string(all.Concepts[i]) + "\n", nil
}

// literal is a text of Turtle with its language.
func literal(text, language string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(text) + `"@` + language
}

// linked copies what the pages link beside them, and tells of a link that leads nowhere.
func (s *site) linked() error {
	linked := map[string]bool{}
	err := filepath.WalkDir(s.to, func(file string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(file, ".html") {
			return err
		}
		raw, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(s.to, file)
		for _, m := range regexp.MustCompile(`href="([^"#:]+)`).FindAllStringSubmatch(string(raw), -1) {
			linked[path.Join(path.Dir(filepath.ToSlash(name)), m[1])] = true
		}
		return err
	})
	if err != nil {
		return err
	}
	for name := range linked {
		if _, err := os.Stat(filepath.Join(s.to, filepath.FromSlash(name))); err == nil {
			continue
		}
		info, err := os.Stat(filepath.Join(s.root, filepath.FromSlash(name)))
		if err != nil {
			return fmt.Errorf("a page links %s, which is not there", name)
		}
		if info.IsDir() {
			entries, err := os.ReadDir(filepath.Join(s.root, filepath.FromSlash(name)))
			if err != nil {
				return err
			}
			var list strings.Builder
			for _, e := range entries {
				fmt.Fprintf(&list, "- %s\n", e.Name())
			}
			if err := s.put(name+"/index.html", page(name, up(name+"/"), render("# "+name+"\n\n"+list.String()))); err != nil {
				return err
			}
			continue
		}
		raw, err := os.ReadFile(filepath.Join(s.root, filepath.FromSlash(name)))
		if err != nil {
			return err
		}
		if err := s.put(name, string(raw)); err != nil {
			return err
		}
	}
	return nil
}

// schemas writes the schemas and the context under their permanent names.
func (s *site) schemas() error {
	for _, name := range schema.Names() {
		text, _ := schema.Text(name)
		if err := s.put("1/"+name+".schema.json", string(text)); err != nil {
			return err
		}
	}
	return s.put("1/context.jsonld", string(schema.Context()))
}

// redirects writes the rules by which the permanent names lead to these files, as the Apache server reads them:
// by what is asked for, Turtle, JSON or a page.
func (s *site) redirects() error {
	const rules = `# The permanent names of Findslip: https://w3id.org/findslip/. HOME is where the files of this folder lie.
# "Latest" is moved in a step of its own, after the new version answers.
Options +FollowSymLinks
RewriteEngine on
RewriteRule ^$ HOME/index.html [R=302,L]
RewriteRule ^1/context$ HOME/1/context.jsonld [R=302,L]
RewriteRule ^1/(report|find|notices|policy|simple|profile|settings)$ HOME/1/$1.schema.json [R=302,L]
RewriteCond %{HTTP_ACCEPT} text/turtle
RewriteRule ^1/vocabulary/([a-z0-9/-]+)$ HOME/1/vocabulary/$1.ttl [R=303,L]
RewriteCond %{HTTP_ACCEPT} application/(ld\+)?json
RewriteRule ^1/vocabulary/([a-z0-9/-]+)$ HOME/1/vocabulary/$1.json [R=303,L]
RewriteRule ^1/vocabulary/([a-z0-9/-]+)$ HOME/1/vocabulary/$1.html [R=303,L]
RewriteRule ^1/notice/([a-z0-9-]+)$ HOME/1/notice/$1.html [R=303,L]
RewriteRule ^1/terms$ HOME/schema/spec/lookup/linked.html [R=303,L]
RewriteRule ^1/?$ HOME/SPEC.html [R=303,L]
`
	return s.put("htaccess.txt", rules)
}

// fixedZip writes a workbook whose bytes do not depend on the clock or on the order of a map.
func fixedZip(f *excelize.File) ([]byte, error) {
	var raw bytes.Buffer
	if err := f.Write(&raw); err != nil {
		return nil, err
	}
	in, err := zip.NewReader(bytes.NewReader(raw.Bytes()), int64(raw.Len()))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range in.File {
		r, err := part.Open()
		if err != nil {
			return nil, err
		}
		to, err := w.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Deflate,
			Modified: time.Date(2026, 5, 3, 18, 0, 0, 0, time.UTC)})
		if err != nil {
			return nil, err
		}
		if _, err := io.Copy(to, r); err != nil {
			return nil, err
		}
		if err := r.Close(); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// papers are the texts of the specification, in the order of their sections: the core, and the parts beside it.
var papers = []string{"SPEC.md", "schema/spec/readings.md", "schema/spec/rules.md", "schema/spec/profiles.md",
	"schema/spec/tables.md",
	"schema/spec/sharing.md", "schema/spec/linked.md", "schema/spec/simple.md", "schema/spec/guide.md",
	"schema/spec/primer.md"}

// specification returns the core and the parts as one text.
func specification(root string) (string, error) {
	var b strings.Builder
	for _, name := range papers {
		raw, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		if err != nil {
			return "", fmt.Errorf("the specification: %w", err)
		}
		b.Write(raw)
		b.WriteString("\n")
	}
	return b.String(), nil
}

// bySection orders ids of requirements, such as 4.1-10, by their numbers.
func bySection(a, b requirement) int {
	numbers := func(id string) (list []int) {
		for part := range strings.FieldsFuncSeq(id, func(r rune) bool { return r == '.' || r == '-' }) {
			n, err := strconv.Atoi(part)
			if err != nil {
				n = 0
			}
			list = append(list, n)
		}
		if !strings.Contains(id, ".") { // a section before its subsections
			list = slices.Insert(list, 1, 0)
		}
		return list
	}
	return cmp.Or(slices.Compare(numbers(a.id), numbers(b.id)), cmp.Compare(a.id, b.id))
}

// render makes HTML of the Markdown that the papers use: headings, paragraphs, lists, tables, fences, and within
// a line code, bold, italics and links. Links to other papers lead to their pages.
func render(text string) string {
	var b strings.Builder
	lines := strings.Split(text, "\n")
	for i := 0; i < len(lines); {
		line := lines[i]
		switch {
		case strings.TrimSpace(line) == "":
			i++
		case strings.HasPrefix(line, "```"):
			end := i + 1
			for end < len(lines) && lines[end] != "```" {
				end++
			}
			fmt.Fprintf(&b, "<pre><code>%s</code></pre>\n", html.EscapeString(strings.Join(lines[i+1:end], "\n")))
			i = end + 1
		case strings.HasPrefix(line, "#"):
			level := len(line) - len(strings.TrimLeft(line, "#"))
			id := anchors(line + "\n")
			fmt.Fprintf(&b, "<h%d id=\"%s\">%s</h%d>\n", level, html.EscapeString(id[0]),
				inline(strings.TrimSpace(line[level:])), level)
			i++
		case strings.HasPrefix(line, "|"):
			end := run1(lines, i, func(s string) bool { return strings.HasPrefix(s, "|") })
			tableHTML(&b, lines[i:end])
			i = end
		case item.MatchString(line):
			end := run1(lines, i, func(s string) bool { return item.MatchString(s) || strings.HasPrefix(s, "  ") })
			listHTML(&b, lines[i:end])
			i = end
		case strings.HasPrefix(line, "    "):
			end := run1(lines, i, func(s string) bool { return strings.HasPrefix(s, "    ") })
			fmt.Fprintf(&b, "<pre><code>%s</code></pre>\n", html.EscapeString(strings.Join(lines[i:end], "\n")))
			i = end
		default:
			end := run1(lines, i, func(s string) bool {
				return strings.TrimSpace(s) != "" && !strings.HasPrefix(s, "#") && !strings.HasPrefix(s, "|") &&
					!strings.HasPrefix(s, "```") && !item.MatchString(s)
			})
			fmt.Fprintf(&b, "<p>%s</p>\n", inline(strings.Join(lines[i:end], " ")))
			i = end
		}
	}
	return b.String()
}

var item = regexp.MustCompile(`^(- |\d+\. )`)

// run1 returns the end of a run of lines of one sort, which holds at least the first.
func run1(lines []string, from int, same func(string) bool) int {
	end := from + 1
	for end < len(lines) && same(lines[end]) {
		end++
	}
	return end
}

// tableHTML writes a table; its second line only parts the head from the body.
func tableHTML(b *strings.Builder, lines []string) {
	b.WriteString("<div class=\"wide\"><table>\n")
	for i, line := range lines {
		if i == 1 || i == 0 && strings.Trim(line, "| ") == "" { // a table without a head
			continue
		}
		kind := "td"
		if i == 0 {
			kind = "th"
		}
		b.WriteString("<tr>")
		const bar = "\x00"
		line = strings.ReplaceAll(line, `\|`, bar)
		for c := range strings.SplitSeq(strings.Trim(strings.TrimSpace(line), "|"), "|") {
			fmt.Fprintf(b, "<%s>%s</%s>", kind, inline(strings.ReplaceAll(strings.TrimSpace(c), bar, "|")), kind)
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</table></div>\n")
}

// listHTML writes a list; lines that are indented go on with the item before, or are items of a list within it.
func listHTML(b *strings.Builder, lines []string) {
	kind := "ul"
	if !strings.HasPrefix(lines[0], "- ") {
		kind = "ol"
	}
	fmt.Fprintf(b, "<%s>\n", kind)
	for i := 0; i < len(lines); {
		end := run1(lines, i, func(s string) bool { return strings.HasPrefix(s, " ") })
		first, inner := []string{item.ReplaceAllString(lines[i], "")}, []string{}
		for _, l := range lines[i+1 : end] {
			if strings.HasPrefix(l, "  - ") || len(inner) > 0 {
				inner = append(inner, strings.TrimPrefix(l, "  "))
			} else {
				first = append(first, strings.TrimSpace(l))
			}
		}
		text := strings.Join(first, " ")
		id := ""
		if m := regexp.MustCompile(`^\*\*([\d.]+-\d+)\*\* `).FindStringSubmatch(text); m != nil {
			id = fmt.Sprintf(" id=\"r%s\"", m[1])
		}
		fmt.Fprintf(b, "<li%s>%s", id, inline(text))
		if len(inner) > 0 {
			b.WriteString("\n")
			listHTML(b, inner)
		}
		b.WriteString("</li>\n")
		i = end
	}
	fmt.Fprintf(b, "</%s>\n", kind)
}

var (
	spanOrLink = regexp.MustCompile("``? ?(?:[^`]|`[^` ])+?``?|\\[[^\\]]+\\]\\([^)\\s]+\\)|" +
		"https?://[^\\s)<>\"`]+[^\\s)<>\"`.,;:]")
	bold    = regexp.MustCompile(`\*\*([^*]+)\*\*`)
	italics = regexp.MustCompile(`\*([^*\s][^*]*)\*`)
)

// inline makes HTML of what stands within a line.
func inline(s string) string {
	var held []string
	hold := func(text string) string {
		held = append(held, text)
		return fmt.Sprintf("\x01%d\x02", len(held)-1)
	}
	s = spanOrLink.ReplaceAllStringFunc(s, func(m string) string {
		switch {
		case strings.HasPrefix(m, "`"):
			return hold("<code>" + html.EscapeString(strings.TrimSpace(strings.Trim(m, "`"))) + "</code>")
		case strings.HasPrefix(m, "["):
			words, to, _ := strings.Cut(m[1:len(m)-1], "](")
			return hold(fmt.Sprintf("<a href=\"%s\">%s</a>", html.EscapeString(pageOf(to)), inline(words)))
		}
		return hold(html.EscapeString(m))
	})
	s = italics.ReplaceAllString(bold.ReplaceAllString(html.EscapeString(s), "<strong>$1</strong>"), "<em>$1</em>")
	for i, text := range slices.Backward(held) {
		s = strings.ReplaceAll(s, fmt.Sprintf("\x01%d\x02", i), text)
	}
	return s
}

// pageOf is where a link of a paper leads on the site.
func pageOf(to string) string {
	if strings.Contains(to, "://") {
		return to
	}
	file, anchor, _ := strings.Cut(to, "#")
	if name, ok := strings.CutSuffix(file, ".md"); ok {
		file = name + ".html"
	}
	if anchor != "" {
		file += "#" + anchor
	}
	return file
}
