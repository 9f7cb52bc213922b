package document

const (
	// MaxBytes caps one document. The largest honest one is a burst or leak trace of a million samples
	// (two columns of about 12 characters): 32 MiB leaves room and still fits the memory of a phone.
	MaxBytes = 32 << 20
	// MaxValues caps the values of one document; a long list of numbers counts as one. The largest
	// honest document, a year of a plant's records on its way to a phone, has some 200,000. Each
	// value takes some 40 bytes of memory, however short its text.
	MaxValues = 1 << 20
	// MaxDepth caps nesting; the deepest document of the contract has 7 levels.
	MaxDepth = 64
)
