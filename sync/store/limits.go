package store

const (
	// maxWaiting is how many callers may wait to be written before the next one waits to hand in.
	maxWaiting = 256
	// maxTogether caps the changes of one transaction, so that nobody waits long behind a large import.
	maxTogether = 4096
	// maxSome and maxSomeBytes bound one step of reading the journal, so that no reading transaction lasts.
	maxSome      = 256
	maxSomeBytes = 1 << 20
	// MaxBlob caps one blob: a scaled photo has some 300 kB, a trace of a million rows some 24 MB.
	MaxBlob = 32 << 20
	// maxIndexed is the longest value that a lookup finds; tags, serials and labels are far shorter.
	maxIndexed = 256
)
