package pipeline

import (
	"github.com/findslip/findslip/pkg/internal/kinds"
)

// Kinds of notice that pairing with an earlier conversion gives.
var (
	sinceAmbiguous = &kinds.SinceAmbiguous
	sinceUnpaired  = &kinds.SinceUnpaired
)
