package programme

// The bounds of one programme. A programme beyond them is refused with code "limit" before anything
// else is done.
const (
	// MaxBytes caps the text: 20,000 steps of about 50 characters.
	MaxBytes = 1 << 20
	// MaxSteps caps the steps; a day's work at one reading a second would have fewer.
	MaxSteps = 20000
	// MaxNesting caps blocks within blocks: every level doubles the paths to follow, and more is
	// unreadable on a phone.
	MaxNesting = 8
	// MaxText caps the text of a question or note: more does not fit a work screen.
	MaxText = 500
	// MaxName caps a name.
	MaxName = 40
	// MaxNumber caps the characters of a number; float64 needs 17 digits and an exponent.
	MaxNumber = 40
	// MaxCount caps repeats and readings of one step.
	MaxCount = 10000
	// MaxTerms caps the numbers, names and operations of one expression.
	MaxTerms = 200
	// MaxParts caps parentheses, signs and "not" within each other in one expression.
	MaxParts = 32
)
