package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The site is made by one command; every link of its pages leads to a file, and every anchor to a heading.
func TestSite(t *testing.T) {
	to := filepath.Join(t.TempDir(), "site")
	var out, talk bytes.Buffer
	if status := run(context.Background(), []string{"site", "-root", root, "-o", to}, &out, &talk); status != 0 {
		t.Fatalf("status %d: %s", status, talk.String())
	}
	pages := map[string]string{}
	if err := filepath.WalkDir(to, func(file string, d os.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(file, ".html") {
			raw, err := os.ReadFile(file)
			pages[file] = string(raw)
			return err
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	links := 0
	for file, text := range pages {
		for _, m := range regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(text, -1) {
			name, anchor, _ := strings.Cut(m[1], "#")
			if strings.Contains(name, "://") {
				continue
			}
			links++
			to := file
			if name != "" {
				to = filepath.Join(filepath.Dir(file), filepath.FromSlash(name))
			}
			if _, err := os.Stat(to); err != nil {
				t.Errorf("%s links %s: %v", file, m[1], err)
			} else if anchor != "" && !strings.Contains(pages[to], `id="`+anchor+`"`) {
				t.Errorf("%s links %s, and there is no such heading", file, m[1])
			}
		}
	}
	if len(pages) < 500 || links < 3000 {
		t.Errorf("only %d pages and %d links", len(pages), links)
	}
	for name, want := range map[string]string{
		"1/vocabulary/material/copper-alloy.ttl":  `skos:prefLabel "copper alloy"@en`,
		"1/vocabulary/material/copper-alloy.json": `"code": "copper-alloy"`,
		"1/notice/depth-implausible.html":         "<h1",
		"1/context.jsonld":                        "@context",
		"htaccess.txt":                            "text/turtle",
	} {
		raw, err := os.ReadFile(filepath.Join(to, filepath.FromSlash(name)))
		if err != nil || !strings.Contains(string(raw), want) {
			t.Errorf("%s: %v, %.80s", name, err, raw)
		}
	}
	if status := run(context.Background(), []string{"site", "-root", root, "-o", to}, &out, &talk); status != 2 {
		t.Error("a folder that is there is written over")
	}
}

func TestRender(t *testing.T) {
	for _, x := range []struct{ text, want string }{
		{"## 3 Model", `<h2 id="3-model">3 Model</h2>`},
		{"a `b<c` **d** *e* [f](g.md#h)", `<p>a <code>b&lt;c</code> <strong>d</strong> <em>e</em> <a href="g.html#h">f</a></p>`},
		{"| a | b |\n|---|---|\n| 1 \\| 2 | `x` |",
			"<tr><th>a</th><th>b</th></tr>\n<tr><td>1 | 2</td><td><code>x</code></td></tr>"},
		{"- **3.1-1** A\n  b\n  - c\n- d", "<li id=\"r3.1-1\"><strong>3.1-1</strong> A b\n<ul>\n<li>c</li>\n</ul>\n</li>\n<li>d</li>"},
		{"```x\n<a>\n```", "<pre><code>&lt;a&gt;</code></pre>"},
	} {
		if got := render(x.text); !strings.Contains(got, x.want) {
			t.Errorf("%q:\n%s\nwant\n%s", x.text, got, x.want)
		}
	}
}
