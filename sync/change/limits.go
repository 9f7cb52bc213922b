package change

const (
	// MaxBytes caps one change: the largest honest one carries the plan of a 4,000-step programme or
	// the captures of an imported visit.
	MaxBytes = 1 << 20
	// MaxValue caps one field's value for the same reason. Photos and traces are blobs.
	MaxValue = 512 << 10
	// MaxSet caps the fields of one change: an imported visit with every reading of an 11-point,
	// 6-series run has some hundreds.
	MaxSet = 4096
	// MaxSees caps the heads that one change may settle. Each head is a writer who had not seen the
	// others.
	MaxSees = 64
	// MaxField caps names: a kind word, a dot and an id.
	MaxField = 64
)
