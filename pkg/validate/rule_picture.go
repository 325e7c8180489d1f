package validate

import (
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var pictureRules = []*Rule{pictureCarries, pictureLeaks}

var pictureCarries = &Rule{
	Kind: kinds.PictureCarriesMore,
	// When: The file has no `audience`, or `self`, and no `copyOf`. A picture of the find that is beside the report,
	// and is of a kind that can be looked into, carries a position, a serial number or the name of an owner in its
	// metadata. Not checked where the files are not at hand, the name leads outside, or the file is of another kind or
	// cannot be read; one that is not there is for `picture-not-found`. At each `/media/N/file`.
	Check: func(c *Case, say Say) {
		if ours(c.Report) && c.Report.CopyOf == "" {
			eachPictureThatTells(c, say)
		}
	},
}

var pictureLeaks = &Rule{
	Kind: kinds.PictureLeaks,
	// When: As in `picture-carries-more`, in a file with an `audience` other than `self`, or with `copyOf`.
	Check: func(c *Case, say Say) {
		if !ours(c.Report) || c.Report.CopyOf != "" {
			eachPictureThatTells(c, say)
		}
	},
}
