//go:build findslip_small

package pipeline

import (
	"errors"

	"github.com/findslip/findslip/pkg/find"
)

// since is left out by the tag findslip_small: a page for a browser has no earlier file.
func since(*find.Stream, func() (*find.Stream, error), Options, bool) (*find.Stream, error) {
	return nil, errors.New("an earlier conversion cannot be read by this program")
}
