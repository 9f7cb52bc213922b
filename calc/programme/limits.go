package programme

// The bounds of one programme. Beyond them a programme is refused with code "limit" before anything
// is made of it.
const (
	// MaxBytes caps the text: 20,000 steps of about 50 characters.
	MaxBytes = 1 << 20
	// MaxSteps caps the steps; a day's work at one reading a second would have fewer.
	MaxSteps = 20000
	// MaxNesting caps blocks within blocks: every level doubles the paths that are followed, and
	// nobody reads more on a phone.
	MaxNesting = 8
	// MaxText caps what is asked or noted: more does not fit a work screen.
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
