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

// What is generated is that of the schemas, the structs and the table of codes as they are now.
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

// A member without a field, and a field without a member, are named with what to do.
func TestForgotten(t *testing.T) {
	structs := map[string]*goStruct{"Find": {name: "Find",
		fields: []goField{{"ID", "string"}, {"Mood", "string"}, {"Unknown", "jsontext.Value"}}}}
	for members, want := range map[string]string{
		"id mood":         "",
		"id mood weather": `no field for the member "weather"`,
		"id":              "Find.Mood is no member of the schema",
	} {
		n := new(schema.Node)
		for name := range strings.FieldsSeq(members) {
			n.Properties = append(n.Properties, schema.Member{Name: name, Node: &schema.Node{Type: "string"}})
		}
		g := &generator{structs: structs}
		list, err := g.members(structs["Find"], n)
		if want == "" && (err != nil || len(list) != 2 || list[1].field != "Mood") {
			t.Errorf("%s: %v, %v", members, list, err)
		}
		if want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%s: %v, want %q", members, err, want)
		}
	}
}
