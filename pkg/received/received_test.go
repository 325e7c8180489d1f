package received_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/received"
	"github.com/findslip/findslip/pkg/render"
)

// What a log or a profile says stays text on the pages; what the table and the letters say is in profile.txtar.
func TestPagesHoldText(t *testing.T) {
	const script = "<script>alert()</script>"
	asked := []render.Receiver{{Title: map[string]string{"en": script}, Score: render.Score{Finds: 1}, Asks: []render.Asked{{Name: "a",
		Strength: "must", Title: map[string]string{"en": "<img src=x>"},
		Count: render.Count{Asked: 1, Lacking: 1, Finds: []string{script}}}}}}
	sender := &received.Sender{File: script, Name: script, Finds: 1, Asked: asked, Danger: []string{script}}
	set := &received.Set{Senders: []*received.Sender{sender}, All: asked, Finds: 1}
	l := set.Letter(sender, 0)
	var b bytes.Buffer
	if err := errors.Join(l.HTML(&b), set.HTML(&b)); err != nil {
		t.Fatal(err)
	}
	if page := b.String(); strings.Contains(page, "<script") || strings.Contains(page, "<img") ||
		!strings.Contains(page, "<td>1</td>") || !strings.Contains(page, "&lt;img src=x&gt;") {
		t.Error(page)
	}
	if l := set.Letter(&received.Sender{File: "x/y.csv", Err: errors.New("unread")}, 0); l.To != "To whoever sent y.csv" {
		t.Error(l.Text())
	}
}

func Example() {
	l := received.Letter{To: "To finder-a", From: "Recorder of Thornmere", Parts: []received.Part{
		{Text: "What we still need:", Items: []string{"Who found it (1 find): 7"}}}}
	fmt.Print(l.Text())
	// Output:
	// To finder-a
	//
	// What we still need:
	//   - Who found it (1 find): 7
	//
	// Recorder of Thornmere
}
