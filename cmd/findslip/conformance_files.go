package main

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/cmd/internal/release"
	"github.com/findslip/findslip/cmd/internal/suite"
)

// The operations of the conformance protocol that read or write whole files.

// content is what came out, as text where it is text.
func content(b []byte) *suite.Content {
	text := string(b)
	if !utf8.Valid(b) {
		text = base64.StdEncoding.EncodeToString(b)
		return &suite.Content{Base64: &text}
	}
	return &suite.Content{Text: &text}
}

func (j *job) validate() (*suite.Answer, error) {
	args, name, err := j.begin("protected", "report")
	if err != nil {
		return nil, err
	}
	if areas, ok := j.hand.Options["protected"]; ok {
		raw, err := json.Marshal(areas)
		if err != nil {
			return nil, err
		}
		name, err := j.file("protected.geojson", raw)
		if err != nil {
			return nil, err
		}
		args = append(args, "--protected="+name)
	}
	if j.option("from") == "" && j.option("name") == "" {
		args = append(args, "--from=findslip")
	}
	r, err := j.checked(name, args...)
	if err != nil {
		return nil, err
	}
	list, said := r.list()
	if r.Deadlines == nil {
		r.Deadlines = jsontext.Value("[]")
	}
	out := map[string]any{"levelsMet": slices.Concat([]string{}, r.LevelsMet), "said": said, "deadlines": r.Deadlines}
	if r.Receivers != nil {
		out["receivers"] = r.Receivers
	}
	if j.option("report") == "true" {
		out["report"] = jsontext.Value(r.whole)
	}
	a, err := give("", out)
	if err != nil {
		return nil, err
	}
	a.Notices = list
	return a, nil
}

func (j *job) convert() (*suite.Answer, error) {
	args, name, err := j.begin("to", "plain", "since")
	if err != nil {
		return nil, err
	}
	if j.option("plain") == "true" {
		args = append(args, "--plain")
	}
	if since := j.option("since"); since != "" {
		old, err := j.file("since.findslip.json", []byte(since))
		if err != nil {
			return nil, err
		}
		args = append(args, "--since="+old)
	}
	kept := filepath.Join(j.dir, "notices.json")
	out, err := j.run(slices.Concat([]string{"convert", name, "--to=" + j.option("to"), "-o", "-", "--fail-on=never",
		"--notices", kept}, args)...)
	if err != nil {
		return nil, err
	}
	list, err := notices(kept)
	return &suite.Answer{Output: content(out), Notices: list, Lost: j.lost()}, err
}

// lost reads from standard error what the command said the format cannot hold.
func (j *job) lost() []string {
	var list []string
	for _, m := range regexp.MustCompile(`(?m)^warning: \S+ cannot hold (.+) \(\d+\)$`).FindAllStringSubmatch(
		j.talk.String(), -1) {
		list = append(list, m[1])
	}
	return list
}

// notices reads a report of notices that the command wrote.
func notices(name string) ([]suite.Notice, error) {
	raw, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var r struct {
		Notices []suite.Notice `json:"notices"`
		Read    []suite.Notice `json:"read"`
	}
	err = json.Unmarshal(raw, &r)
	return append(r.Notices, r.Read...), err
}

func (j *job) share() (*suite.Answer, error) {
	args, name, err := j.begin("to", "permissions", "holdBack")
	if err != nil {
		return nil, err
	}
	if j.option("holdBack") == "true" {
		args = append(args, "--hold-back")
	}
	if list, ok := j.hand.Options["permissions"].([]any); ok {
		for _, one := range list {
			args = append(args, fmt.Sprintf("--permission=%v", one))
		}
	}
	out, err := j.run(slices.Concat([]string{"share", name, "--format=" + j.option("to"), "-o", "-", "--no-register"},
		args)...)
	if err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, errors.New("a leak was found, and nothing is written")
	}
	return &suite.Answer{Output: content(out)}, nil
}

func (j *job) template() (*suite.Answer, error) {
	args, err := j.profiled("full")
	if err != nil {
		return nil, err
	}
	if j.option("full") == "true" {
		args = append(args, "--full")
	}
	name := filepath.Join(j.dir, "template.xlsx")
	if _, err := j.run(slices.Concat([]string{"template", "-o", name}, args)...); err != nil {
		return nil, err
	}
	raw, err := os.ReadFile(name)
	return &suite.Answer{Output: content(raw)}, err
}

func (j *job) columns() (*suite.Answer, error) {
	args, name, err := j.begin()
	if err != nil {
		return nil, err
	}
	out, err := j.run(slices.Concat([]string{"columns", name, "-o", "-"}, args)...)
	if err != nil {
		return nil, err
	}
	var m struct {
		Tables []struct {
			Columns []struct {
				Heading string `json:"heading"`
				Field   string `json:"field"`
			} `json:"columns"`
		} `json:"tables"`
	}
	if err := json.Unmarshal(out, &m); err != nil {
		return nil, err
	}
	fields := []string{}
	for _, t := range m.Tables {
		for _, c := range t.Columns {
			fields = append(fields, c.Field)
		}
	}
	return give("", map[string]any{"fields": fields})
}

func (j *job) repair() (*suite.Answer, error) {
	args, name, err := j.begin()
	if err != nil {
		return nil, err
	}
	out, err := j.run(slices.Concat([]string{"repair", name, "-o", "-"}, args)...)
	return &suite.Answer{Output: content(out)}, err
}

func (j *job) apply() (*suite.Answer, error) {
	args, name, err := j.begin("proposals", "to", "patch")
	if err != nil {
		return nil, err
	}
	patch := ""
	if j.option("patch") == "true" {
		patch = filepath.Join(j.dir, "patch.json")
		args = append(args, "--patch="+patch)
	}
	proposals, err := json.Marshal(j.hand.Options["proposals"])
	if err != nil {
		return nil, err
	}
	list, err := j.file("proposals.json", proposals)
	if err != nil {
		return nil, err
	}
	out, err := j.run(slices.Concat([]string{"repair", name, "--accept", list, "--to=" + j.option("to"), "-o", "-"},
		args)...)
	if err == nil && patch != "" {
		out, err = os.ReadFile(patch)
	}
	return &suite.Answer{Output: content(out)}, err
}

func (j *job) pack() (*suite.Answer, error) {
	args, name, err := j.begin()
	if err != nil {
		return nil, err
	}
	bag := filepath.Join(j.dir, "bag.zip")
	if _, err := j.run(slices.Concat([]string{"pack", name, "-o", bag, "--fail-on=never"}, args)...); err != nil {
		return nil, err
	}
	a := new(suite.Answer)
	for _, m := range regexp.MustCompile(`(?m)^warning: the picture (.+) is named in the report and is not `+
		`there$`).FindAllStringSubmatch(j.talk.String(), -1) {
		a.Lost = append(a.Lost, m[1])
	}
	raw, err := os.ReadFile(bag)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, errors.New("a leak was found, and nothing is packed")
	}
	a.Output = content(raw)
	return a, err
}

// The operations of the conformance protocol over a folder, on bags and their pictures, and on what is
// published.

// begin makes arguments of the options, but for those that the operation itself takes, with the pictures and profiles
// of the request in files, and says what the input is called.
func (j *job) begin(taken ...string) (args []string, name string, err error) {
	if args, err = j.profiled(append(taken, "name", "pictures")...); err != nil {
		return nil, "", err
	}
	pictures, given := j.hand.Options["pictures"].(map[string]any)
	folder := filepath.Join(j.dir, "pictures")
	if given {
		args = append(args, "--pictures="+folder)
		err = os.Mkdir(folder, 0o700)
	}
	for name, value := range pictures {
		raw, derr := base64.StdEncoding.DecodeString(fmt.Sprint(value))
		err = errors.Join(err, derr, os.WriteFile(filepath.Join(folder, filepath.Base(name)), raw, 0o600))
	}
	if err == nil {
		name, err = j.input()
	}
	return args, name, err
}

// unpack gives back the report of a bag, or one of its pictures.
func (j *job) unpack() (*suite.Answer, error) {
	if _, err := j.args("picture", "fingerprint"); err != nil {
		return nil, err
	}
	bag, err := j.file("bag.zip", j.in)
	if err != nil {
		return nil, err
	}
	said, err := j.run("unpack", bag, "-o", filepath.Join(j.dir, "received"))
	if err != nil {
		return nil, err
	}
	if j.faulty {
		return nil, errors.New("the bag is not whole")
	}
	reports, err := filepath.Glob(filepath.Join(j.dir, "received", "*", "data", "report", "*.findslip.json"))
	if err == nil && len(reports) == 0 {
		reports, err = filepath.Glob(filepath.Join(j.dir, "received", "data", "report", "*.findslip.json"))
	}
	if err != nil || len(reports) != 1 {
		return nil, fmt.Errorf("the bag has %d reports: %w", len(reports), err)
	}
	if j.option("fingerprint") == "true" {
		return give("", map[string]string{"said": string(said) + j.talk.String()})
	}
	if nth := j.option("picture"); nth != "" {
		return pictureBytes(filepath.Dir(reports[0]), nth)
	}
	raw, err := os.ReadFile(reports[0])
	return &suite.Answer{Output: content(raw)}, err
}

// pictureBytes is the nth picture beside the report of a bag and its workbook, by name.
func pictureBytes(folder, nth string) (*suite.Answer, error) {
	var names []string
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && !strings.HasSuffix(path, ".json") && !strings.HasSuffix(path, ".xlsx") {
			names = append(names, path)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	n, err := strconv.Atoi(nth)
	if err != nil || n < 1 || n > len(names) {
		return nil, fmt.Errorf("the bag has %d pictures", len(names))
	}
	raw, err := os.ReadFile(names[n-1])
	return &suite.Answer{Output: content(raw)}, err
}

// write has the command read files of the folder that the runner made, and write another there. What it says to people
// comes back.
func (j *job) write() (*suite.Answer, error) {
	args, err := j.args("do", "in", "out", "force", "who", "accept", "undo")
	if err != nil {
		return nil, err
	}
	do := j.option("do")
	if !slices.Contains([]string{"convert", "share", "pack", "merge", "receive", "forget"}, do) {
		return nil, errUnsupported{"to " + do + " from file to file"}
	}
	at := func(name any) string { return filepath.Join(j.hand.Folder, filepath.Base(fmt.Sprint(name))) }
	args = append(args, "-o", at(j.option("out")))
	for _, name := range []string{"accept", "undo"} {
		if file := j.option(name); file != "" {
			args = append(args, "--"+name, at(file))
		}
	}
	switch {
	case do == "convert" || do == "pack":
		args = append(args, "--fail-on=never")
	case do == "forget":
		args = append(args, j.option("who"))
	}
	if j.option("force") == "true" {
		args = append(args, "--force")
	}
	in, several := j.hand.Options["in"].([]any)
	if !several {
		in = []any{j.option("in")}
	}
	for _, name := range in {
		args = append(args, at(name))
	}
	out, err := j.run(append([]string{do}, args...)...)
	if err == nil && j.faulty {
		err = errors.New(j.talk.String())
	}
	if err != nil {
		return nil, err
	}
	return give("", map[string]string{"said": string(out) + j.talk.String()})
}

// receive looks through all logs of the folder for a receiver.
func (j *job) receive() (*suite.Answer, error) {
	args, err := j.profiled()
	if err != nil {
		return nil, err
	}
	r, err := j.run(slices.Concat([]string{"check", j.hand.Folder, "--report=json", "--fail-on=never"}, args)...)
	if err != nil {
		return nil, err
	}
	return &suite.Answer{Output: content(r)}, nil
}

// compare says what changed from one version of what is published to the next.
func (j *job) compare() (*suite.Answer, error) {
	if _, err := j.args(); err != nil {
		return nil, err
	}
	var versions struct {
		Old map[string]jsontext.Value `json:"old"`
		New map[string]jsontext.Value `json:"new"`
	}
	if err := json.Unmarshal(j.in, &versions); err != nil {
		return nil, err
	}
	var read [2]release.Files
	for i, version := range []map[string]jsontext.Value{versions.Old, versions.New} {
		read[i] = release.Files{}
		for name, text := range version {
			read[i][name] = text
		}
	}
	changes, err := release.Compare(read[0], read[1])
	if err != nil {
		return nil, err
	}
	worst := changes.Worst().String()
	if worst == "" {
		worst = "none"
	}
	return give("", map[string]any{"step": changes.Worst().Step(), "verdict": worst,
		"changes": append(release.Changes{}, changes...)})
}
