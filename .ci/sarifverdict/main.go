// Command sarifverdict holds SARIF files to the JSON schema of the standard: the first argument is
// the schema as OASIS publishes it, the others are the files. It ends with status 1 at the first
// file that the schema refuses.
package main

import (
	"encoding/json"
	"fmt"
	"os"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

func main() {
	if len(os.Args) < 3 {
		fmt.Fprintln(os.Stderr, "usage: sarifverdict SCHEMA FILE...")
		os.Exit(2)
	}
	if err := check(os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintf(os.Stderr, "%#v\n", err)
		os.Exit(1)
	}
}

func check(schema string, files []string) error {
	f, err := os.Open(schema)
	if err != nil {
		return err
	}
	defer f.Close()
	const name = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/sarif.json"
	c := jsonschema.NewCompiler()
	c.AssertFormat = true
	if err := c.AddResource(name, f); err != nil {
		return err
	}
	s, err := c.Compile(name)
	if err != nil {
		return err
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		var v any
		if err := json.Unmarshal(raw, &v); err != nil {
			return fmt.Errorf("%s: %w", file, err)
		}
		if err := s.Validate(v); err != nil {
			return fmt.Errorf("%s: %#v", file, err)
		}
		fmt.Printf("%s is as the SARIF 2.1.0 schema has it\n", file)
	}
	return nil
}
