package validate

import "github.com/findslip/findslip/pkg/notice"

var pictureRules = []*Rule{pictureCarries, pictureLeaks}

var pictureCarries = &Rule{
	Kind: notice.Kind{
		Code: "picture-carries-more", Severity: notice.Info, Group: "pictures", Spec: "5.10",
		Title:  "a picture carries a position, a serial number or its owner",
		Why:    "whoever gets the file gets them too; a picture taken at home tells where the finder lives",
		Help:   "Keep the original for yourself. Hand on copies made without these, as share and pack --for make them; pack without --for is for yourself and takes pictures as they are.",
		Source: "Exif 2.32 (CIPA DC-008) sections 4.6.4 to 4.6.6; guidance on sharing sensitive records of places",
		Before: "12.jpg with a GPS block", After: "a copy of 12.jpg without one",
	},
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
	Kind: notice.Kind{
		Code: "picture-leaks", Severity: notice.Error, Group: "sharing", Spec: "5.13",
		Title:  "a picture in a copy for others carries a position, a serial number or its owner",
		Why:    "the place goes out by the back door, and with an evening picture the finder's home",
		Help:   "Do not hand this copy on. Make it again with share, or pack --for, which make pictures anew.",
		Source: "Exif 2.32 (CIPA DC-008) sections 4.6.4 to 4.6.6; guidance on sharing sensitive records of places",
		Before: "a copy with 12.jpg as the camera wrote it", After: "a copy with 12.jpg made without metadata",
	},
	// When: As in `picture-carries-more`, in a file with an `audience` other than `self`, or with `copyOf`.
	Check: func(c *Case, say Say) {
		if !ours(c.Report) || c.Report.CopyOf != "" {
			eachPictureThatTells(c, say)
		}
	},
}
