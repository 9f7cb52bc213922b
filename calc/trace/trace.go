package trace

// Code is what is wrong with a row or with the record.
type Code uint8

// The codes of Fault.
const (
	TimeBackwards Code = iota
	TimeTwice
	TimeForm
	MixedZone
	NotANumber
	ShortRow
	BadQuote
	ContactWord
	BelowZero
	Implausible
	ContactStill
	NoRows
	codes
)

// faultWords are the codes' names in documents and their sentences for people.
var faultWords = [codes][2]string{
	{"time_backwards", "the time lies before that of a row above; this row is not used"},
	{"time_twice", "the time is that of the row above; this row is not used"},
	{"time_form", "this is no time of the form confirmed; the row is not used"},
	{"mixed_zone", "the time has a zone and the first had none, or the other way round; the row is not used"},
	{"not_a_number", "this is no number; the row is not used"},
	{"short_row", "the row has fewer columns than are needed; it is not used"},
	{"quote", "a quotation mark is not closed, or something follows it; the row is not used"},
	{"contact_word", "this is neither of the contact's words; the row is not used"},
	{"below_absolute_zero", "the temperature lies below absolute zero; the row is not used"},
	{"unit_implausible", "the pressures do not fit the instrument's range: is the unit right?"},
	{"contact_never_changes", "the contact never changes in this record"},
	{"no_rows", "no row of this record can be used"},
}

// Fault is a fault of one row that a person must see; Line 0 stands for the whole record.
type Fault struct {
	Line int
	Code Code
	Cell string // the cell's text
}

// Gap is a step of time longer than the reading allows, or a backward one that the reading bridges.
type Gap struct {
	Line     int
	From, To int64 // ns since the first row
	Bridged  int64 // ns added to all times after a clock was set back
}

// Reading is how to read the columns of a record, as confirmed by a person.
type Reading struct {
	Separator, Decimal byte
	Comment            string
	FirstLine          int // of the data, counted from 1
	Time               TimeColumn
	Pressure           Column
	Temperature        Column // Column.At is 0 if there is none
	Barometer          Column
	Contact            Contact
	GapNS              int64 // 0: gaps are not looked for
	FromNS, ToNS       int64 // the part to use, ns since the first row
	Mean               bool
	Block              int // rows in a group; 1 keeps all
	Plausible          float64
}

// Column is one column of numbers, counted from 1, with their conversion to the unit wanted: (x +
// Shift)·Mul/Div − Back.
type Column struct {
	At                    int
	Shift, Mul, Div, Back float64
	Same                  bool // no conversion is needed
}

func (c *Column) turn(x float64) float64 {
	if c.Same {
		return x
	}
	return float64((x+c.Shift)*c.Mul)/c.Div - c.Back
}

// Contact is the column of a contact: by words, or as a number above which it is actuated.
type Contact struct {
	At             int
	Actuated, Rest []string
	Above          float64
	ByNumber       bool
}

// Form is how a time is written in its column.
type Form uint8

// The forms of time.
const (
	Counted Form = iota // a number of units since some start, or since 1970
	Indexed             // the number of the row times an interval
	Clocked             // hours, minutes, seconds of a day
	Dated               // a date with its clock, in one column or two
)

// TimeColumn is the column of the time.
type TimeColumn struct {
	Form   Form
	At     int // 0 of Indexed: rows are counted
	DateAt int // of Dated, if the date has its own column
	Order  string
	UnitNS int64 // of Counted, and the interval of Indexed
	Bridge bool  // bridge a clock that was set back
}

// State passes from one piece of a record to the next, with the counts so far.
type State struct {
	Line, Rows      int // physical lines read; rows of data among them
	Started, Zoned  bool
	First, Clock    int64 // times of the first and the latest row, as in the record
	Last, Step      int64 // ns since the first row; the latest step of the usual length
	Day, Bridged    int64 // ns added for midnights and for a clock that was set back
	Used, Kept      int   // rows used, samples kept of them
	Outside         int   // rows outside the part
	Comments, Blank int
	Missing         [4]int // pressure, temperature, barometer, contact
	Faults, Gaps    int
	FaultsBy        [codes]int
	Low, High       float64
	EndNS           int64
	Contact         bool
	HasContact      bool
	Changes, After  int // changes of the contact; rows still to be kept after the latest
	Implausible     bool
}

// Sample is one row that is used.
type Sample struct {
	T           float64
	P           float64
	Temperature float64
	Barometer   float64
	Contact     bool
}

// The first faults and gaps are listed one by one, the others only counted.
const (
	mostFaults = 200
	mostGaps   = 200
)

// afterEdge is how many rows are kept after each change of the contact, so that a lasting change is
// seen to last.
const afterEdge = 16
