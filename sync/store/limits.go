package store

const (
	// maxWaiting is how many callers may wait for the writer; further callers wait to hand in their
	// work.
	maxWaiting = 256
	// maxTogether caps the changes of one transaction, so that nobody waits long behind a large
	// import.
	maxTogether = 4096
	// maxSome and maxSomeBytes bound one step of reading the journal, so that no read transaction
	// lasts long.
	maxSome      = 256
	maxSomeBytes = 1 << 20
	// MaxBlob caps one blob. A scaled photo has some 300 kB, a trace of a million rows some 24 MB.
	MaxBlob = 32 << 20
	// MaxRecord caps the state of one record. The longest honest run, a programme of 4,000 steps
	// with its plan, its readings and its finding, has some 2 MB. A record that grew without bound
	// would become unreadable.
	MaxRecord = 4 << 20
	// MaxHeld caps the bytes held in quarantine: more than years of honest mistakes, and less than
	// a disk.
	MaxHeld = 1 << 30
	// MaxHeldOf caps the bytes in quarantine that one account, or one hub, brought.
	MaxHeldOf = MaxHeld / 4
	// maxIndexed is the longest value that a lookup finds; tags, serials and labels are far
	// shorter.
	maxIndexed = 256
)
