package main

import (
	"fmt"
	"html"
	"regexp"
	"slices"
	"strings"
)

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
	spanOrLink = regexp.MustCompile("``? ?(?:[^`]|`[^` ])+?``?|\\[[^\\]]+\\]\\([^)\\s]+\\)|https?://[^\\s)<>\"`]+[^\\s)<>\"`.,;:]")
	bold       = regexp.MustCompile(`\*\*([^*]+)\*\*`)
	italics    = regexp.MustCompile(`\*([^*\s][^*]*)\*`)
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
