package dcc

import (
	"bytes"
	"encoding/xml"

	"gaugewright/server/german"
)

// node is an element to write. It has a text or children, not both.
type node struct {
	name  string
	attrs [][2]string
	text  string
	kids  []*node
}

// el makes an element with children; it leaves out nil ones.
func el(name string, kids ...*node) *node {
	n := &node{name: name}
	return n.add(kids...)
}

func (n *node) add(kids ...*node) *node {
	for _, k := range kids {
		if k != nil {
			n.kids = append(n.kids, k)
		}
	}
	return n
}

// leaf makes an element with a text, or nil without one.
func leaf(name, text string) *node {
	if text == "" {
		return nil
	}
	return &node{name: name, text: text}
}

// with sets an attribute, unless it would be empty.
func (n *node) with(attr, value string) *node {
	if n != nil && value != "" {
		n.attrs = append(n.attrs, [2]string{attr, value})
	}
	return n
}

// orNil returns nil for an element with nothing in it.
func (n *node) orNil() *node {
	if len(n.kids) == 0 && n.text == "" {
		return nil
	}
	return n
}

// content makes an element with a text in the certificate's language.
func (w *writer) content(name, text string) *node {
	if text == "" {
		return nil
	}
	return el(name, leaf("dcc:content", text).with("lang", w.c.Language))
}

// say returns a phrase of this writer in the certificate's language.
func (w *writer) say(phrase string, values ...string) string {
	return german.In(w.c.Language, phrase, values...)
}

// write appends the element, each child on a line of its own.
func (n *node) write(b *bytes.Buffer, indent string) {
	b.WriteString(indent + "<" + n.name)
	for _, a := range n.attrs {
		b.WriteString(" " + a[0] + `="`)
		escape(b, a[1])
		b.WriteByte('"')
	}
	switch {
	case n.text != "":
		b.WriteByte('>')
		escape(b, n.text)
	case len(n.kids) == 0:
		b.WriteString("/>\n")
		return
	default:
		b.WriteString(">\n")
		for _, k := range n.kids {
			k.write(b, indent+"  ")
		}
		b.WriteString(indent)
	}
	b.WriteString("</" + n.name + ">\n")
}

func escape(b *bytes.Buffer, text string) {
	_ = xml.EscapeText(b, []byte(text)) // a bytes.Buffer never fails
}
