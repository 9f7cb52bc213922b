package head

import "gaugewright/calc/document"

// Doors returns the room head.
func Doors() []document.Door {
	return []document.Door{{Name: "head", Call: door}}
}

func door(in *document.Reader, out *document.Writer) error {
	c := Read(in)
	if err := in.Err(); err != nil {
		return err
	}
	out.Number("correction_pa", Correction(c))
	return nil
}
