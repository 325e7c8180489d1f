package grid

import "github.com/findslip/findslip/pkg/limit"

// Limits bound what a reader takes from a file that a stranger may have made.
type Limits = limit.Limits

// LimitError says that a file went over one of the [Limits].
type LimitError = limit.Error
