package document

import (
	"math"
	"strconv"
)

// Reader takes the fields of one object. It keeps the first fault, and every later call returns a
// zero value, so that a calculation reads all it needs and checks once, with Err or Done. A field
// that was never asked for is a fault at Done.
type Reader struct {
	value *Value
	path  string
	item  int // for an item of the list at path: its place, counted from 1
	used  []bool
	root  *Reader // holds the fault of the whole document
	kids  []*Reader
	fault *Fault
}

// where returns the path of the object.
func (r *Reader) where() string {
	if r.item > 0 {
		return index(r.path, r.item-1)
	}
	return r.path
}

// Open returns a Reader of a whole document.
func Open(v Value) *Reader {
	r := &Reader{value: &v}
	r.root = r
	if v.Kind != Object {
		r.fault = &Fault{Code: CodeShape, Message: "the document must be an object"}
		r.value = &Value{Kind: Object}
	}
	r.used = make([]bool, len(r.value.Names()))
	return r
}

func (r *Reader) child(v *Value, path string) *Reader {
	c := &Reader{value: v, path: path, root: r.root, used: make([]bool, len(v.Names()))}
	r.kids = append(r.kids, c)
	return c
}

// Fail keeps a fault about one of the object's fields, if it is the first of the document.
//
//go:noinline
func (r *Reader) Fail(code, name, message string) {
	field := r.where()
	if name != "" {
		field = join(field, name)
	}
	r.failAt(code, field, message)
}

func (r *Reader) failAt(code, field, message string) {
	if r.root.fault == nil {
		r.root.fault = &Fault{Code: code, Field: field, Message: message}
	}
}

// Err returns the first fault of the whole document so far.
//
//go:noinline
func (r *Reader) Err() error {
	if r.root.fault != nil {
		return r.root.fault
	}
	return nil
}

// Done returns the first fault, or a fault for the first field that was never asked for.
func (r *Reader) Done() error {
	if err := r.Err(); err != nil {
		return err
	}
	r.unknown()
	return r.Err()
}

func (r *Reader) unknown() {
	for i, u := range r.used {
		if !u {
			r.Fail(CodeUnknownField, r.value.Names()[i], "this field is not known here")
			return
		}
	}
	for _, k := range r.kids {
		k.unknown()
	}
}

// Path returns the field path of one of the object's fields, such as "readings[3].indicated".
//
//go:noinline
func (r *Reader) Path(name string) string { return join(r.where(), name) }

// Raw returns a field's value as it was parsed, marking the field as known. Null counts as absent.
func (r *Reader) Raw(name string) (*Value, bool) {
	for i, n := range r.value.Names() {
		if n == name {
			r.used[i] = true
			if v := &r.value.in.items[i]; v.Kind != Null {
				return v, true
			}
			return nil, false
		}
	}
	return nil, false
}

// RawObject returns a required object as it was parsed, marking the field as known; it returns an
// empty object and keeps a fault if the field is missing or no object.
func (r *Reader) RawObject(name string) *Value {
	v, ok := r.Raw(name)
	switch {
	case !ok:
		r.Fail(CodeMissing, name, "this field is missing")
	case v.Kind != Object:
		r.Fail(CodeShape, name, "an object is needed")
	default:
		return v
	}
	return &Value{Kind: Object}
}

// Has reports whether a field is present and not null, without marking it as known.
//
//go:noinline
func (r *Reader) Has(name string) bool {
	v, ok := r.value.Get(name)
	return ok && v.Kind != Null
}

// Names returns the names of the object's fields in the order written.
func (r *Reader) Names() []string { return r.value.Names() }

func (r *Reader) need(name string) (*Value, bool) {
	v, ok := r.Raw(name)
	if !ok {
		r.Fail(CodeMissing, name, "this field is missing")
	}
	return v, ok
}

// Decimal is a number with the text it was typed as.
type Decimal struct {
	Text  string
	Value float64
}

func (r *Reader) decimal(v *Value, at func() string) Decimal {
	fail := func(code, message string) Decimal {
		r.failAt(code, at(), message)
		return Decimal{}
	}
	if v.Kind != Number && v.Kind != String {
		return fail(CodeNotANumber, "a number or a decimal text is needed")
	}
	if x, ok := short(v.Text); ok {
		return Decimal{Text: v.Text, Value: x}
	}
	if v.Kind == String && !IsDecimal(v.Text) {
		return fail(CodeNotANumber, Quote(v.Text)+" is not a decimal number (digits, one point, an optional sign)")
	}
	x, err := strconv.ParseFloat(v.Text, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return fail(CodeNotFinite, "the number is too large")
	}
	return Decimal{Text: v.Text, Value: x}
}

// powers are the powers of ten that a float64 holds exactly.
var powers = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
	1e19, 1e20, 1e21, 1e22,
}

// Float returns the number of a decimal text, as strconv.ParseFloat does and mostly faster; ok is
// false if it is no number or too large.
func Float(s string) (x float64, ok bool) {
	if x, ok := short(s); ok {
		return x, true
	}
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil
}

// short reads a decimal text of up to 18 digits without an exponent whose digits and whose power of
// ten are both exact, so that one division rounds once, to what strconv gives; ok is false for any
// other text.
func short(s string) (x float64, ok bool) {
	i, negative := 0, false
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		negative = s[i] == '-'
		i++
	}
	if len(s)-i > 19 {
		return 0, false
	}
	whole, digits, after := uint64(0), 0, -1
	for ; i < len(s); i++ {
		c := s[i] - '0'
		switch {
		case c <= 9:
			whole = 10*whole + uint64(c)
			digits++
		case s[i] == '.' && after < 0:
			after = digits
		default:
			return 0, false
		}
	}
	if digits == 0 || digits > 18 || whole > 1<<53 {
		return 0, false
	}
	x = float64(whole)
	if after >= 0 && after < digits {
		x /= powers[digits-after]
	}
	if negative {
		x = -x
	}
	return x, true
}

// IsDecimal reports whether s is a decimal number in the form that the contract accepts: an
// optional sign, digits with at most one point, an optional exponent.
func IsDecimal(s string) bool {
	i := 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	digits := 0
	for ; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
		digits++
	}
	if i < len(s) && s[i] == '.' {
		i++
		for ; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
			digits++
		}
	}
	if digits == 0 {
		return false
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		i++
		if i < len(s) && (s[i] == '-' || s[i] == '+') {
			i++
		}
		start := i
		for ; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
		}
		if i == start {
			return false
		}
	}
	return i == len(s)
}

// Decimal returns a required number with its text.
func (r *Reader) Decimal(name string) Decimal {
	v, ok := r.need(name)
	if !ok {
		return Decimal{}
	}
	return r.decimal(v, func() string { return r.Path(name) })
}

// OptionalDecimal returns a number with its text, if the field is there.
func (r *Reader) OptionalDecimal(name string) (Decimal, bool) {
	v, ok := r.Raw(name)
	if !ok {
		return Decimal{}, false
	}
	return r.decimal(v, func() string { return r.Path(name) }), true
}

// Number returns a required number.
//
//go:noinline
func (r *Reader) Number(name string) float64 { return r.Decimal(name).Value }

// Optional returns a number, if the field is there.
//
//go:noinline
func (r *Reader) Optional(name string) (float64, bool) {
	d, ok := r.OptionalDecimal(name)
	return d.Value, ok
}

// NumberOr returns a number, or otherwise if the field is absent.
func (r *Reader) NumberOr(name string, otherwise float64) float64 {
	if x, ok := r.Optional(name); ok {
		return x
	}
	return otherwise
}

// Positive returns a required number that must be above zero.
func (r *Reader) Positive(name string) float64 {
	x := r.Number(name)
	if r.Err() == nil && x <= 0 {
		r.Fail(CodeRange, name, "must be above zero")
	}
	return x
}

// Whole returns a required whole number between low and high, both included.
func (r *Reader) Whole(name string, low, high int) int {
	x := r.Number(name)
	if r.Err() != nil {
		return 0
	}
	if math.Floor(x) != x {
		r.Fail(CodeNotANumber, name, "a whole number is needed")
		return 0
	}
	if x < float64(low) || x > float64(high) {
		r.Fail(CodeRange, name, "must be from "+strconv.Itoa(low)+" to "+strconv.Itoa(high))
		return 0
	}
	return int(x)
}

// WholeOr returns a whole number between low and high, or otherwise if the field is absent.
func (r *Reader) WholeOr(name string, low, high, otherwise int) int {
	if !r.Has(name) {
		r.Raw(name)
		return otherwise
	}
	return r.Whole(name, low, high)
}

// Text returns a required text.
func (r *Reader) Text(name string) string {
	v, ok := r.need(name)
	if !ok {
		return ""
	}
	if v.Kind != String {
		r.Fail(CodeShape, name, "a text is needed")
		return ""
	}
	return v.Text
}

// TextOr returns a text, or otherwise if the field is absent.
func (r *Reader) TextOr(name, otherwise string) string {
	if !r.Has(name) {
		r.Raw(name)
		return otherwise
	}
	return r.Text(name)
}

// Choice returns a required text that must be one of words.
func (r *Reader) Choice(name string, words ...string) string {
	s := r.Text(name)
	if r.Err() != nil {
		return s
	}
	for _, w := range words {
		if s == w {
			return s
		}
	}
	list := ""
	for i, w := range words {
		if i > 0 {
			list += ", "
		}
		list += w
	}
	r.Fail(CodeRange, name, Quote(s)+" is not one of: "+list)
	return ""
}

// ChoiceOr returns one of words, or the first of them if the field is absent.
func (r *Reader) ChoiceOr(name string, words ...string) string {
	if !r.Has(name) {
		r.Raw(name)
		return words[0]
	}
	return r.Choice(name, words...)
}

// Flag returns true or false, or otherwise if the field is absent.
func (r *Reader) Flag(name string, otherwise bool) bool {
	v, ok := r.Raw(name)
	if !ok {
		return otherwise
	}
	if v.Kind != Bool {
		r.Fail(CodeShape, name, "true or false is needed")
		return otherwise
	}
	return v.Text == "true"
}

// Object returns a required object. If it is missing, the fault is kept and the Reader reads an
// empty object.
func (r *Reader) Object(name string) *Reader {
	v, ok := r.need(name)
	if ok && v.Kind != Object {
		r.Fail(CodeShape, name, "an object is needed")
		ok = false
	}
	if !ok {
		return &Reader{value: &Value{Kind: Object}, path: r.Path(name), root: r.root}
	}
	return r.child(v, r.Path(name))
}

// OptionalObject returns an object, if the field is there.
func (r *Reader) OptionalObject(name string) (*Reader, bool) {
	if !r.Has(name) {
		r.Raw(name)
		return nil, false
	}
	return r.Object(name), true
}

// Values returns the items of a required list.
func (r *Reader) Values(name string) []Value {
	v, ok := r.need(name)
	if !ok {
		return nil
	}
	if v.Kind != Array {
		r.Fail(CodeShape, name, "a list is needed")
		return nil
	}
	return v.List()
}

// long returns the text of a long list of numbers.
func (r *Reader) long(name string) (text string, ok bool) {
	v, ok := r.Raw(name)
	if !ok || v.Kind != Array || v.Text == "" {
		return "", false
	}
	return v.Text, true
}

// List returns the objects of a required list.
func (r *Reader) List(name string) []*Reader {
	items := r.Values(name)
	path := r.Path(name)
	fields := 0
	for i := range items {
		if items[i].Kind != Object {
			r.failAt(CodeShape, index(path, i), "an object is needed")
			return nil
		}
		fields += len(items[i].Names())
	}
	list, kids, used := make([]*Reader, len(items)), make([]Reader, len(items)), make([]bool, fields)
	for i := range items {
		n := len(items[i].Names())
		kids[i] = Reader{value: &items[i], path: path, item: i + 1, root: r.root, used: used[:n:n]}
		used = used[n:]
		list[i] = &kids[i]
	}
	r.kids = append(r.kids, list...)
	return list
}

// Decimals returns the numbers of a required list with their texts.
func (r *Reader) Decimals(name string) []Decimal {
	items := r.Values(name)
	list := make([]Decimal, len(items))
	for i := range items {
		list[i] = r.decimal(&items[i], func() string { return index(r.Path(name), i) })
	}
	return list
}

// Numbers returns the numbers of a required list.
func (r *Reader) Numbers(name string) []float64 {
	if text, ok := r.long(name); ok {
		list := make([]float64, 0, count(text))
		each(text, func(one string) bool {
			x, ok := short(one)
			if !ok {
				x = r.decimal(&Value{Kind: Number, Text: one}, func() string { return index(r.Path(name), len(list)) }).Value
			}
			list = append(list, x)
			return true
		})
		return list
	}
	items := r.Values(name)
	list := make([]float64, len(items))
	for i := range items {
		list[i] = r.decimal(&items[i], func() string { return index(r.Path(name), i) }).Value
	}
	return list
}

// Texts returns the texts of a required list.
func (r *Reader) Texts(name string) []string {
	items := r.Values(name)
	list := make([]string, len(items))
	for i := range items {
		if items[i].Kind != String {
			r.failAt(CodeShape, index(r.Path(name), i), "a text is needed")
			return nil
		}
		list[i] = items[i].Text
	}
	return list
}
