package main

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"
)

func TestCompletion(t *testing.T) {
	ask := func(args ...string) string {
		var out, errOut bytes.Buffer
		if status := run(context.Background(), args, strings.NewReader(""), &out, &errOut); status != exitWell {
			t.Fatalf("%v: status %d: %s", args, status, errOut.String())
		}
		return out.String()
	}
	for _, x := range []struct {
		args []string
		want []string
	}{
		{[]string{"check", "--from", ""}, []string{"findslip", "jsonl", "geojson", "xlsx", "csv", "gpx", "kml"}},
		{[]string{"convert", "--to", ""}, []string{"geojson", "xlsx"}},
		{[]string{"check", "--level", ""}, []string{"bag", "log", "full"}},
		{[]string{"share", "--for", ""}, []string{"public", "landowner", "expert"}},
		{[]string{"explain", ""}, []string{"unit-missing"}},
		{[]string{"read", ""}, []string{"length", "weight", "date", "dating", "position", "material"}},
	} {
		var got []string
		for line := range strings.Lines(ask(append([]string{"__complete"}, x.args...)...)) {
			word, _, _ := strings.Cut(strings.TrimSpace(line), "\t")
			got = append(got, word)
		}
		for _, w := range x.want {
			if !slices.Contains(got, w) {
				t.Errorf("%v offers %v, without %s", x.args, got, w)
			}
		}
	}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		if script := ask("completion", shell); !strings.Contains(script, "__complete") {
			t.Errorf("%s: no script of completion", shell)
		}
	}
}
