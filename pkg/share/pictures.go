package share

import (
	"path"
	"reflect"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// pictures names the pictures of a find anew, and leaves out what a picture tells of its place: those of
// the hole and the land.
func (c *copier) pictures(f, source *find.Find, gone *[]string) {
	if c.action("finds.media.file") != fresh {
		f.Media = nil
		return
	}
	f.Media = nil
	for i := range source.Media {
		m := &source.Media[i]
		if c.o.Audience.coarse() && m.View.Is(spotViews...) {
			*gone = append(*gone, "/media")
			continue
		}
		out := find.Media{}
		c.part(reflect.ValueOf(&out).Elem(), reflect.ValueOf(m).Elem(), c.mediaNodes(), nil)
		if m.File != "" {
			out.File = c.pictureName(m.File)
		}
		f.Media = append(f.Media, out)
	}
}

// spotViews are views that show where it lay, or what is written on its bag.
var spotViews = []string{"in-hole", "hole-section", "landscape", "with-bag-label"}

func (c *copier) mediaNodes() []*node {
	for _, n := range nodes()["finds"] {
		if n.name == "media" {
			return n.children
		}
	}
	return nil
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
