package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const released = "../../schema/released"

// Nothing that was released is broken by what stands here.
func TestReleasesHold(t *testing.T) {
	folders, err := filepath.Glob(released + "/*")
	if err != nil {
		t.Fatalf("%d releases: %v", len(folders), err)
	}
	for _, folder := range folders {
		var out, talk bytes.Buffer
		if status := run([]string{"-root", "../..", folder}, &out, &talk); status != 0 {
			t.Errorf("%s: status %d\n%s%s", folder, status, out.String(), talk.String())
		}
	}
}

// The command tells a release that was tampered with, and says when there is none.
func TestRun(t *testing.T) {
	dir := t.TempDir()
	var out, talk bytes.Buffer
	fresh := filepath.Join(dir, "fresh")
	if status := run([]string{"-root", "../..", "-keep", fresh}, &out, &talk); status != 0 {
		t.Fatalf("%d: %s", status, talk.String())
	}
	if status := run([]string{"-root", "../..", "-keep", fresh}, &out, &talk); status != 2 {
		t.Errorf("a release was written over: %d", status)
	}
	if status := run([]string{"-root", "../..", "-json", fresh}, &out, &talk); status != 0 {
		t.Errorf("%d: %s%s", status, out.String(), talk.String())
	}
	name := filepath.Join(fresh, "find.schema.json")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	worse := strings.Replace(string(text), `"required": ["id"]`, `"required": ["id", "finder"]`, 1)
	if worse == string(text) {
		t.Fatal("the schema has no such line")
	}
	if err := os.WriteFile(name, []byte(worse), 0o644); err != nil {
		t.Fatal(err)
	}
	out.Reset()
	if status := run([]string{"-root", "../..", "-json", fresh}, &out, &talk); status != 1 {
		t.Errorf("status %d: %s", status, out.String())
	}
	var told struct {
		Step    string
		Changes []struct{ Verdict, Where, What string }
	}
	if err := json.Unmarshal(out.Bytes(), &told); err != nil || told.Step != "major" || len(told.Changes) != 1 || !strings.HasSuffix(told.Changes[0].Where, "/finder") {
		t.Errorf("%v: %+v", err, told)
	}
	for _, args := range [][]string{{}, {dir}, {filepath.Join(dir, "nowhere")}, {"-nonsense"}} {
		if status := run(append([]string{"-root", "../.."}, args...), &out, &talk); status != 2 {
			t.Errorf("%v: status %d", args, status)
		}
	}
}
