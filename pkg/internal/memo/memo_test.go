package memo

import (
	"fmt"
	"strings"
	"sync"
	"testing"
)

// Every answer is that of the function, whatever is remembered and whoever asks at the same time.
func TestOf(t *testing.T) {
	m := New(func(k Key[int]) string { return fmt.Sprintf("%s %d", strings.ToUpper(k.Text), k.With) })
	var busy sync.WaitGroup
	for w := range 4 {
		busy.Add(1)
		go func() {
			defer busy.Done()
			for i := range 20_000 {
				text := fmt.Sprintf("text %d", (i*7+w)%5000)
				if got, want := m.Of(Key[int]{text, i % 9}), fmt.Sprintf("%s %d", strings.ToUpper(text), i%9); got != want {
					t.Errorf("%q: got %q, want %q", text, got, want)
					return
				}
			}
		}()
	}
	busy.Wait()
}

// What was just asked is not worked out again, up to the number of a group; long texts are not kept.
func TestRemembers(t *testing.T) {
	asked := 0
	m := New(func(Key[int]) int { asked++; return asked })
	for range 3 {
		for with := range group {
			m.Of(Key[int]{"the same", with})
		}
	}
	if asked != group {
		t.Errorf("the function was asked %d times, want %d", asked, group)
	}
	long := strings.Repeat("x", longest+1)
	if first, second := m.Of(Key[int]{Text: long}), m.Of(Key[int]{Text: long}); first == second {
		t.Error("a long text was kept")
	}
}
