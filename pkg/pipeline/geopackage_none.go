//go:build !gpkg

package pipeline

import (
	"errors"
	"io"

	"github.com/findslip/findslip/pkg/find"
)

// encodeGeoPackage says how a program is made that writes GeoPackage, whose data base would make this one half as large
// again.
func encodeGeoPackage(io.Writer, *find.Stream, *Unfinished) error {
	return errors.New("this program writes no GeoPackage; make one that does with: go build -tags gpkg ./cmd/findslip")
}
