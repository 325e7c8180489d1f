package main

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
)

// part returns a part of the page.
func part(t *testing.T, name string) string {
	t.Helper()
	b, err := parts.ReadFile("page/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWordsInSixLanguages(t *testing.T) {
	var words map[string][]string
	if err := json.Unmarshal([]byte(part(t, "words.json")), &words); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	all := part(t, "page.html") + part(t, "page.js") + part(t, "steps.js")
	asks := regexp.MustCompile("data-say=\"([\\w-]+)\"|say\\([\"`]([\\w-]+)[\"`$]|\"(rows-\\w+|[a-z]+metres|inches)\"|" +
		"value=\"(\\w+)\"")
	for _, m := range asks.FindAllStringSubmatch(all, -1) {
		name := m[1] + m[2] + m[3] + m[4]
		for key := range words {
			if key == name || strings.HasSuffix(name, "-") && strings.HasPrefix(key, name) {
				used[key] = true // "why-" stands for all that begin so
			}
		}
		if m[4] == "" && !strings.HasSuffix(name, "-") {
			used[name] = true
		}
	}
	holes := regexp.MustCompile(`\{\w+\}`)
	for key, list := range words {
		if len(list) != 6 {
			t.Errorf("%s has %d languages, not 6", key, len(list))
			continue
		}
		for i, s := range list {
			if s == "" || holes.FindString(s) != holes.FindString(list[0]) {
				t.Errorf("%s, language %d: %q does not go with %q", key, i, s, list[0])
			}
		}
		if !used[key] {
			t.Errorf("%s is used nowhere", key)
		}
	}
	for key := range used {
		if words[key] == nil {
			t.Errorf("%s has no words", key)
		}
	}
}

func TestPageHoldsEverything(t *testing.T) {
	for _, served := range []bool{false, true} {
		b, err := page([]byte("program"), "runtime", served)
		if err != nil {
			t.Fatal(err)
		}
		text := string(b)
		if strings.Contains(text, "{{") {
			t.Errorf("a part is missing behind %.60q", text[strings.Index(text, "{{"):])
		}
		if m := regexp.MustCompile(`(?:src|href)="(?:https?:)?//`).FindString(text); m != "" {
			t.Errorf("the page asks for something elsewhere: %s", m)
		}
		for _, want := range []string{"connect-src 'none'", "form-action 'none'", "default-src 'none'", "'sha256-"} {
			if !strings.Contains(text, want) {
				t.Errorf("the policy lacks %s", want)
			}
		}
	}
}

// Indents may go only where no text of the script goes over a line.
func TestNoTextOverLines(t *testing.T) {
	for _, name := range []string{"page.js", "steps.js"} {
		for i, line := range strings.Split(part(t, name), "\n") {
			if strings.Count(line, "`")%2 == 1 {
				t.Errorf("%s:%d: a text goes over this line", name, i+1)
			}
		}
	}
}

func TestProgramAsText(t *testing.T) {
	raw := []byte{0, 0, 0, 0, 1, 2, 3, 255, 254}
	for i := range 70000 {
		raw = append(raw, byte(i*i>>3), byte(i>>5), byte(i*7))
	}
	text := asText(raw)
	if m := regexp.MustCompile(`[\x00\r<]`).FindString(text); m != "" {
		t.Errorf("%q has no place in a page", m)
	}
	if most := len(raw) * 103 / 100; len(text) > most {
		t.Errorf("%d bytes are %d bytes of text, more than %d", len(raw), len(text), most)
	}
	var back []byte
	for i := 0; i < len(text); i++ { // as worker.js does
		c := text[i]
		if c == escape[0] {
			i++
			c = escaped[text[i]-'0']
		}
		back = append(back, c)
	}
	if string(back) != string(raw) {
		t.Errorf("read again: %d bytes of %d", len(back), len(raw))
	}
}
