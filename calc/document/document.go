package document

// Functions that calculations call from hundreds of places are marked noinline. Inlined, they made
// the phone's module a tenth larger and no calculation faster.

import "strconv"

// Kind says what a Value is.
type Kind uint8

// The kinds of JSON value.
const (
	Null Kind = iota
	Bool
	Number
	String
	Array
	Object
)

// Value is one parsed JSON value. A number keeps its text, so that "2.50" and "2.5" stay different.
type Value struct {
	Kind Kind
	Text string // of a number, string or Bool; for a long Array of numbers the text between its brackets
	in   *inner // for an Object, or an Array without Text; nil if it is empty
}

// inner holds the members of an object or a list. It is separate so that the many other values stay
// small.
type inner struct {
	names []string
	items []Value
}

// ObjectOf returns an object with these names and values, in that order.
func ObjectOf(names []string, items []Value) Value {
	return Value{Kind: Object, in: &inner{names, items}}
}

// ArrayOf returns a list with these values.
func ArrayOf(items []Value) Value { return Value{Kind: Array, in: &inner{items: items}} }

// Names returns the names of an Object, in the order written.
func (v *Value) Names() []string {
	if v.in == nil {
		return nil
	}
	return v.in.names
}

// Items returns the values of an Object, or of an Array that has no Text.
func (v *Value) Items() []Value {
	if v.in == nil {
		return nil
	}
	return v.in.items
}

// List returns the items of an Array.
func (v *Value) List() []Value {
	if v.Kind != Array || v.Text == "" {
		return v.Items()
	}
	list := make([]Value, 0, count(v.Text))
	each(v.Text, func(text string) bool {
		list = append(list, Value{Kind: Number, Text: text})
		return true
	})
	return list
}

// count returns how many numbers a long list holds.
func count(list string) int {
	n := 1
	for i := range len(list) {
		if list[i] == ',' {
			n++
		}
	}
	return n
}

// each passes the numbers of a long list to take, one by one, until take returns false.
func each(list string, take func(text string) bool) {
	for i := 0; i < len(list); i++ {
		for isSpace(list[i]) {
			i++
		}
		start := i
		for i < len(list) && list[i] != ',' && !isSpace(list[i]) {
			i++
		}
		if !take(list[start:i]) {
			return
		}
		for i < len(list) && list[i] != ',' {
			i++
		}
	}
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }

// Get returns the member of an object by name.
func (v *Value) Get(name string) (*Value, bool) {
	for i, n := range v.Names() {
		if n == name {
			return &v.in.items[i], true
		}
	}
	return nil, false
}

// The codes of Fault, fixed by the contract.
const (
	CodeSyntax       = "syntax"
	CodeUnknownField = "unknown_field"
	CodeMissing      = "missing"
	CodeNotANumber   = "not_a_number"
	CodeNotFinite    = "not_finite"
	CodeUnit         = "unit"
	CodeRange        = "range"
	CodeShape        = "shape"
	CodeConflict     = "conflict"
	CodeUndecidable  = "undecidable"
)

// Fault is the one error form of every calculation: a stable code, the field it is about, and a
// sentence for a person.
type Fault struct {
	Code    string
	Field   string
	Message string
}

// Error returns the sentence, led by the field where there is one.
func (f *Fault) Error() string {
	if f.Field == "" {
		return f.Message
	}
	return f.Field + ": " + f.Message
}

// Refuse returns a Fault as an error.
//
//go:noinline
func Refuse(code, field, message string) error {
	return &Fault{Code: code, Field: field, Message: message}
}

// AsFault returns the Fault that err is, or a Fault of code "undecidable" with its text.
//
//go:noinline
func AsFault(err error) *Fault {
	if f, ok := err.(*Fault); ok {
		return f
	}
	return &Fault{Code: CodeUndecidable, Message: err.Error()}
}

// ErrorDocument returns the error form of the contract: {"error":{"code","field","message"}}.
func ErrorDocument(err error) []byte {
	f := AsFault(err)
	w := NewWriter(nil)
	w.Begin()
	w.BeginObject("error")
	w.Text("code", f.Code)
	w.Text("field", f.Field)
	w.Text("message", f.Message)
	w.End()
	w.End()
	return w.buf
}

// Calculation is one entry of the contract: a name, and the function that turns a document into its
// reply.
type Calculation struct {
	Name string
	Call func(in *Reader, out *Writer) error
}

// Sample makes valid documents for a calculation from a seed, for the tests.
type Sample struct {
	Calculation string
	Make        func(seed uint64) []byte
}

// ample is the capacity reserved for the reply to a small document. Budgets make a reply many times
// larger than its document: that of a gauge with 66 readings has 25 kB, and a buffer that grows is
// copied.
const ample = 28 << 10

// Run calls the calculate on the bytes of a document; the reply is the output, or the error form.
func (d *Calculation) Run(doc []byte, version string) []byte {
	work := takeSpace()
	defer work.giveBack(doc)
	v, err := parse(doc, true, work)
	if err != nil {
		return ErrorDocument(err)
	}
	in := Open(v)
	out := work.writing(make([]byte, 0, max(1024, 2*len(doc), min(8*len(doc), ample))))
	out.Begin()
	if err := d.Call(in, out); err != nil {
		return ErrorDocument(err)
	}
	if err := in.Done(); err != nil {
		return ErrorDocument(err)
	}
	out.Text("calc", version)
	out.End()
	if err := out.Err(); err != nil {
		return ErrorDocument(err)
	}
	return out.buf
}

func index(path string, i int) string { return path + "[" + strconv.Itoa(i) + "]" }

//go:noinline
func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}
