package main

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/cmd/internal/release"
	"github.com/findslip/findslip/cmd/internal/suite"
)

// The operations of the conformance protocol over a folder, on bags and their pictures, and on what is
// published.

// pictures puts the pictures of a request into a folder; without pictures it has no name.
func (j *job) pictures() (string, error) {
	pictures, ok := j.hand.Options["pictures"].(map[string]any)
	if !ok {
		return "", nil
	}
	folder := filepath.Join(j.dir, "pictures")
	if err := os.Mkdir(folder, 0o700); err != nil {
		return "", err
	}
	for name, value := range pictures {
		raw, err := base64.StdEncoding.DecodeString(fmt.Sprint(value))
		if err != nil {
			return "", err
		}
		if err := os.WriteFile(filepath.Join(folder, filepath.Base(name)), raw, 0o600); err != nil {
			return "", err
		}
	}
	return folder, nil
}

// unpack gives back the report of a bag, or one of its pictures.
func (j *job) unpack() (*suite.Answer, error) {
	if _, err := j.args("picture"); err != nil {
		return nil, err
	}
	bag, err := j.file("bag.zip", j.in)
	if err != nil {
		return nil, err
	}
	if _, err := j.run("unpack", bag, "-o", filepath.Join(j.dir, "received")); err != nil {
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
	if nth := j.option("picture"); nth != "" {
		return picture(filepath.Dir(reports[0]), nth)
	}
	raw, err := os.ReadFile(reports[0])
	return &suite.Answer{Output: content(raw)}, err
}

// picture is the nth picture beside the report of a bag and its workbook, by name.
func picture(folder, nth string) (*suite.Answer, error) {
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

// write has the command read a file of the folder that the runner made, and write another there.
func (j *job) write() (*suite.Answer, error) {
	args, err := j.args("do", "in", "out", "force")
	if err != nil {
		return nil, err
	}
	do := j.option("do")
	if do != "convert" && do != "share" {
		return nil, errUnsupported{"to " + do + " from file to file"}
	}
	at := func(option string) string { return filepath.Join(j.hand.Folder, filepath.Base(j.option(option))) }
	args = slices.Concat([]string{do, at("in"), "-o", at("out")}, args)
	if do == "convert" {
		args = append(args, "--fail-on=never")
	}
	if j.option("force") == "true" {
		args = append(args, "--force")
	}
	if _, err := j.run(args...); err != nil {
		return nil, err
	}
	return give("", map[string]bool{})
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
