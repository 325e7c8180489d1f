package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/schema"
)

const root = "../../.."

// What is generated is that of the schemas and the table of codes as they are now.
func TestUpToDate(t *testing.T) {
	for target, make := range targets {
		want, err := make(root)
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(filepath.Join(root, target))
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not up to date (%v): go generate ./pkg/find ./pkg/internal/kinds", target, err)
		}
	}
}

// A member for which Go has no type is named.
func TestNoType(t *testing.T) {
	if _, _, err := typeOf("mood", new(schema.Node)); err == nil || !strings.Contains(err.Error(), `"mood"`) {
		t.Error(err)
	}
}
