package head

import "gaugewright/calc/document"

// Calculations returns the calculation head.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "head", Call: calculate}}
}

func calculate(in *document.Reader, out *document.Writer) error {
	c := Read(in)
	if err := in.Err(); err != nil {
		return err
	}
	out.Number("correction_pa", Correction(c))
	return nil
}
