package desk

import (
	"bytes"
	"context"
	"maps"
	"slices"
	"strconv"

	"github.com/findslip/findslip/pkg/pipeline"
)

// A question is something that a log leaves open and that is stated once for all of it.
type question struct {
	Text    string   `json:"text"`
	Answers []answer `json:"answers"`
	Likely  bool     `json:"likely"` // the first answer is the likely one
	Free    bool     `json:"free"`   // any other text is an answer too
}

type answer struct {
	Value string `json:"value"`
	Words string `json:"words"`
}

// questions returns what a log leaves open and, as a file to be kept beside the log, the settings with the answers that
// were given.
func (d *Desk) questions(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	list, settings, err := pipeline.Questions(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	out := []question{}
	for _, q := range list {
		one := question{Text: q.Text, Likely: q.Likely, Free: q.Free, Answers: []answer{}}
		for _, a := range q.Answers {
			one.Answers = append(one.Answers, answer(a))
		}
		out = append(out, one)
	}
	for _, key := range slices.Sorted(maps.Keys(ask.Answers)) {
		i, err := strconv.Atoi(key)
		if err != nil || i < 0 || i >= len(list) || ask.Answers[key] == "" {
			continue
		}
		if err := list[i].Answer(settings, ask.Answers[key]); err != nil {
			return "", nil, err
		}
	}
	var file bytes.Buffer
	if err := settings.Write(&file); err != nil {
		return "", nil, err
	}
	text, _, err := encode(map[string]any{"questions": out, "name": pipeline.SettingsName(ask.Name)})
	return text, file.Bytes(), err
}
