package document

const (
	// MaxBytes caps one document. The largest honest one is a burst or leak trace of a million samples
	// (two columns of about 12 characters): 32 MiB leaves room and still fits the memory of a phone.
	MaxBytes = 32 << 20
	// MaxDepth caps nesting; the deepest document of the contract has 7 levels.
	MaxDepth = 64
)
