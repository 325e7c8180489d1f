// Command sbom prints what is linked into a program as CycloneDX 1.5, from what the program says of
// itself. The same program gives the same bytes: there is no time and no serial number.
package main

import (
	"debug/buildinfo"
	"encoding/json"
	"fmt"
	"os"
	"strings"
)

type component struct {
	Type    string `json:"type"`
	Ref     string `json:"bom-ref"`
	Name    string `json:"name"`
	Version string `json:"version"`
	PURL    string `json:"purl"`
}

type dependency struct {
	Ref       string   `json:"ref"`
	DependsOn []string `json:"dependsOn,omitempty"`
}

type bom struct {
	Format   string `json:"bomFormat"`
	Spec     string `json:"specVersion"`
	Version  int    `json:"version"`
	Metadata struct {
		Component component `json:"component"`
	} `json:"metadata"`
	Components   []component  `json:"components"`
	Dependencies []dependency `json:"dependencies"`
}

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "sbom PROGRAM VERSION")
		os.Exit(2)
	}
	info, err := buildinfo.ReadFile(os.Args[1])
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	b := bom{Format: "CycloneDX", Spec: "1.5", Version: 1}
	b.Metadata.Component = of("application", info.Main.Path, os.Args[2])
	b.Components = append(b.Components, of("library", "std", strings.TrimPrefix(info.GoVersion, "go")))
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		b.Components = append(b.Components, of("library", m.Path, m.Version))
	}
	root := dependency{Ref: b.Metadata.Component.Ref}
	for _, c := range b.Components {
		root.DependsOn = append(root.DependsOn, c.Ref)
	}
	b.Dependencies = []dependency{root}
	out := json.NewEncoder(os.Stdout)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	if err := out.Encode(b); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}

// of makes a component with its package URL.
func of(kind, path, version string) component {
	url := "pkg:golang/" + path + "@" + strings.ReplaceAll(version, "+", "%2B")
	return component{Type: kind, Ref: url, Name: path, Version: version, PURL: url}
}
