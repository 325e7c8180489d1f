package share

import (
	"path"
	"reflect"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// pictures names the pictures of a find anew. To those who see places by cells only those go that are known to show the
// thing alone: nobody knows what is seen on others. The owner may pass one by the name of its file.
func (c *copier) pictures(f, source *find.Find, gone *[]string) {
	if c.action("finds.media.file") != fresh {
		f.Media = nil
		return
	}
	f.Media = nil
	all := nodes()["finds"]
	parts := all[slices.IndexFunc(all, func(n *node) bool { return n.name == "media" })].children
	for i := range source.Media {
		m := &source.Media[i]
		out := find.Media{}
		c.part(reflect.ValueOf(&out).Elem(), reflect.ValueOf(m).Elem(), parts, nil)
		if c.o.Audience.coarse() && !c.o.Policy.passes(m.File) && (!m.View.Is(thingViews...) || out.Caption != m.Caption ||
			phraseOf(m.Caption).speaks("spotPictures") || phraseOf(parted(stemOf(m.File))).speaks("spotPictures")) {
			*gone = append(*gone, "/media")
			c.out.Doubts = append(c.out.Doubts, Doubt{Find: findLabel(source), Member: "finds.media", Words: []string{m.File},
				Why: "a picture that may show more than the thing: its view has to be front, back, side, edge or detail, " +
					"and its caption and name of nothing else"})
			continue
		}
		if m.File != "" {
			out.File = c.pictureName(m.File)
		}
		f.Media = append(f.Media, out)
	}
}

// thingViews are views of the thing alone, and neither of where it lay nor of what is written on its bag.
var thingViews = []string{"front", "back", "side", "edge", "mark-detail"}

// stemOf is the name of a file without folder and ending.
func stemOf(file string) string {
	base := path.Base(strings.ReplaceAll(file, `\`, "/"))
	return strings.TrimSuffix(base, path.Ext(base))
}

// pictureName gives a picture a name that says nothing; the same picture has the same one.
func (c *copier) pictureName(file string) string {
	ext := ".jpg"
	if strings.EqualFold(path.Ext(file), ".png") {
		ext = ".png"
	}
	name := path.Join(c.o.Pictures, c.ids.short("picture", file)+ext)
	c.out.Pictures[name] = file
	return name
}
