package document

const (
	// MaxBytes caps one document. The largest honest one is a burst or leak trace of a million samples
	// (two columns of about 12 characters): 32 MiB leaves room and still fits the memory of a phone.
	MaxBytes = 32 << 20
	// MaxValues caps the values of one document, of which a long list of numbers is one. The largest
	// honest one, a year of a plant's records on its way to a phone, has some 200,000; each takes some
	// 40 bytes of memory however few it has in the document.
	MaxValues = 1 << 20
	// MaxDepth caps nesting; the deepest document of the contract has 7 levels.
	MaxDepth = 64
)
