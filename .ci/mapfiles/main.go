// Command mapfiles writes the report of each file named as GeoJSON, KML and GPX into a folder, for
// checkers that know the standards and nothing of us. A report that cannot be read writes nothing.
// Usage: mapfiles FOLDER FILE...
package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/validate"
)

func main() {
	if err := run(os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}

func run(folder string, names []string) error {
	written := 0
	for i, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		for _, format := range []pipeline.Format{pipeline.GeoJSON, pipeline.KML, pipeline.GPX} {
			var out bytes.Buffer
			o := pipeline.Options{From: pipeline.Findslip, To: format, Level: validate.NoLevel, Stdin: bytes.NewReader(raw)}
			if _, err := pipeline.Convert(context.Background(), "-", &out, o); err != nil {
				continue
			}
			if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%03d.%s", i, format)), out.Bytes(), 0o600); err != nil {
				return err
			}
			written++
		}
	}
	if written < len(names) {
		return fmt.Errorf("only %d files were written of %d reports", written, len(names))
	}
	return nil
}
