//go:build findslip_small

package spreadsheet

import (
	"errors"
	"io"

	"github.com/findslip/findslip/pkg/find"
)

// errNoWriter tells that the program was built with the tag findslip_small, to be small. Workbooks are
// read all the same.
var errNoWriter = errors.New("this build of findslip cannot write workbooks (XLSX); write CSV, which spreadsheets open as well")

// EncodeXLSX is left out of this build and returns an error.
func EncodeXLSX(io.Writer, *find.Stream, WriteOptions) error { return errNoWriter }

// TemplateOptions steer Template.
type TemplateOptions struct {
	Full     bool
	Unit     string
	Language string
}

// Template is left out of this build and returns an error.
func Template(io.Writer, TemplateOptions) error { return errNoWriter }
