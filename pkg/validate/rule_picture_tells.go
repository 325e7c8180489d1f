package validate

import (
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
)

// eachPictureThatTells says of each picture that carries more than it shows what sort of thing that
// is. Without the files it is not checked.
func eachPictureThatTells(c *Case, say Say) {
	for i := range c.Find.Media {
		name := path.Clean(c.Find.Media[i].File)
		if c.Find.Media[i].File == "" {
			continue
		}
		if c.Files == nil || !fs.ValidPath(name) {
			c.NotChecked()
			continue
		}
		f, err := c.Files.Open(name)
		if err != nil {
			continue // told by picture-not-found
		}
		data, err := limit.ReadAll(f, "picture", c.run.mostPicture)
		f.Close()
		if err != nil || !picture.Known(data) {
			c.NotChecked()
			continue
		}
		var tells []string
		for _, what := range picture.Carries(data) {
			if slices.Contains([]string{"position", "serial-number", "owner"}, what) {
				tells = append(tells, strings.ReplaceAll(what, "-", " "))
			}
		}
		if len(tells) > 0 {
			say(fmt.Sprintf("/media/%d/file", i), "the picture carries: "+strings.Join(tells, ", "))
		}
	}
}

// takenAt returns the day and time at which a picture says it was taken, as a moment of the schema
// without offset. False where the picture does not say it or is not at hand.
func takenAt(c *Case, name string) (string, bool) {
	if c.Files == nil || !fs.ValidPath(path.Clean(name)) {
		return "", false
	}
	f, err := c.Files.Open(path.Clean(name))
	if err != nil {
		return "", false
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, headOfPicture))
	if err == nil && picture.Extension(data) != ".jpg" && len(data) == headOfPicture {
		var rest []byte // other formats may have it anywhere
		rest, err = limit.ReadAll(f, "picture", c.run.mostPicture)
		data = append(data, rest...)
	}
	if err != nil {
		return "", false
	}
	out, ok := picture.TakenAt(data)
	if ok {
		_, ok = momentOf(out)
	}
	return out, ok
}

// headOfPicture is what is read of a JPEG file; the segments that tell stand near the front, and one
// holds 64 KiB (ITU-T T.81, annex B).
const headOfPicture = 256 << 10

var pictureRules = []*Rule{pictureCarries, pictureLeaks}

var pictureCarries = &Rule{
	Kind: kinds.PictureCarriesMore,
	Check: func(c *Case, say Say) {
		if ours(c.Report) && c.Report.CopyOf == "" {
			eachPictureThatTells(c, say)
		}
	},
}

var pictureLeaks = &Rule{
	Kind: kinds.PictureLeaks,
	Check: func(c *Case, say Say) {
		if !ours(c.Report) || c.Report.CopyOf != "" {
			eachPictureThatTells(c, say)
		}
	},
}
