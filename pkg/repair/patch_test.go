package repair_test

import (
	"bytes"
	"context"
	"os"
	"testing"

	jsonpatch "github.com/evanphx/json-patch/v5"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/validate"
)

// A general library for RFC 6902 makes the repaired report of the converted one, for single
// proposals and for all that can be accepted together, and refuses a report that is another.
func TestPatchByAGeneralLibrary(t *testing.T) {
	example, err := os.ReadFile("../../examples/thornmere/season.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	for name, log := range map[string]string{
		"season":  string(example),
		"dates":   "No,Find,Depth (in)\n1,bell,2026-09-08\n2,pin,8\n3,seal,2026-10-09\n",
		"twice":   "No,Find,Finder,Depth (in)\n7,bell,finder-a,8\n7,pin,finder-a,9\n8,seal,finder-a,2\n",
		"noughts": "No,Find,Material\n001,bell,brass\n002,pin,brass\n3,seal,lead\n",
		"land": land(`"people":[{"id":"person-1","handle":"grÃ¼n"}],"permissions":[{"id":"permission-1","maxDepth":{"said":"in","verbatim":"2026-09-08"},"validFrom":"3/4/2026"},{"id":"permission-2","validTo":"5/6/2026"}]`,
			one(1, `"permission":"permission-1"`)),
		"encoding": "No,Find,Notes\n1,bell,GlÃ¶ckchen\n2,pin,rusty\n",
	} {
		t.Run(name, func(t *testing.T) {
			o := func(to pipeline.Format) pipeline.Options {
				return pipeline.Options{Stdin: bytes.NewReader([]byte(log)), To: to, Level: validate.NoLevel,
					ReportID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}
			}
			proposals, err := repair.Propose(context.Background(), "-", o(""))
			if err != nil {
				t.Fatal(err)
			}
			var converted bytes.Buffer
			if _, err := pipeline.Convert(context.Background(), "-", &converted, o(pipeline.Findslip)); err != nil {
				t.Fatal(err)
			}
			tried := 0
			try := func() {
				var repaired, text bytes.Buffer
				r, err := repair.Apply(context.Background(), "-", proposals, &repaired, o(pipeline.Findslip))
				if err != nil {
					t.Fatal(err)
				}
				if err := repair.WritePatch(&text, r.Patch); err != nil {
					t.Fatal(err)
				}
				patch, err := jsonpatch.DecodePatch(text.Bytes())
				if err != nil {
					t.Fatal(err)
				}
				got, err := patch.Apply(converted.Bytes())
				if err != nil {
					t.Fatalf("%v\n%s", err, text.Bytes())
				}
				if !jsonpatch.Equal(got, repaired.Bytes()) {
					t.Errorf("the patch makes another report than the repair\n%s", text.Bytes())
				}
				if r.Applied == 0 {
					if len(r.Patch) > 0 {
						t.Errorf("nothing is applied, and the patch has %d operations", len(r.Patch))
					}
					return
				}
				tried++
				// Once more, and the words that were to be replaced are no longer there.
				if _, err := patch.Apply(got); err == nil {
					t.Error("the patch applies to a report that is repaired already")
				}
			}
			try()
			chosen := map[string]bool{}
			for i := range proposals.Proposals {
				x := &proposals.Proposals[i]
				if x.After == "" || x.Choice != "" && chosen[x.Choice] {
					continue
				}
				chosen[x.Choice] = true
				x.Accepted = true
				try()
			}
			if tried == 0 {
				t.Error("nothing was proposed")
			}
		})
	}
}

func TestPatchIsWrittenWhole(t *testing.T) {
	var b bytes.Buffer
	if err := repair.WritePatch(&b, nil); err != nil || b.String() != "[]\n" {
		t.Errorf("%q, %v", b.String(), err)
	}
	if err := repair.WritePatch(failing{}, nil); err == nil {
		t.Error("a writer that fails is not told of")
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrClosed }
