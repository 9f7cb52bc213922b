package main

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/schema"
)

func calculate(args []string, in io.Reader, out, warn io.Writer) error {
	calculation := ""
	if len(args) > 0 && len(args[0]) > 0 && args[0][0] != '-' {
		calculation, args = args[0], args[1:]
	}
	f := flag.NewFlagSet("calc ROOM", flag.ContinueOnError)
	f.SetOutput(warn)
	list := f.Bool("list", false, "list the calculations")
	form := f.Bool("schema", false, "print the JSON Schema of the calculation's input and output")
	lines := f.Bool("lines", false, "one document a line, in and out, in order")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if *list {
		for _, d := range calc.Calculations() {
			if _, err := fmt.Fprintln(out, d.Name); err != nil {
				return err
			}
		}
		return nil
	}
	if !slices.ContainsFunc(calc.Calculations(), func(d document.Calculation) bool { return d.Name == calculation }) {
		return fmt.Errorf("there is no calculation %q; --list names them", calculation)
	}
	if *form {
		b, err := schema.Of(calculation)
		if err != nil {
			return err
		}
		_, err = out.Write(b)
		return err
	}
	if *lines {
		return eachLine(calculation, in, out)
	}
	doc, err := io.ReadAll(io.LimitReader(in, document.MaxBytes+1))
	if err != nil {
		return err
	}
	reply := calc.Call(calculation, doc)
	if _, err := out.Write(append(reply, '\n')); err != nil {
		return err
	}
	if bytes.HasPrefix(reply, []byte(`{"error":`)) {
		return errRefused
	}
	return nil
}

func eachLine(calculation string, in io.Reader, out io.Writer) error {
	r := bufio.NewReaderSize(in, 1<<16)
	w := bufio.NewWriter(out)
	for {
		line, err := r.ReadBytes('\n')
		if len(bytes.TrimSpace(line)) > 0 {
			if _, err := w.Write(append(calc.Call(calculation, bytes.TrimSpace(line)), '\n')); err != nil {
				return err
			}
		}
		switch {
		case errors.Is(err, io.EOF):
			return w.Flush()
		case err != nil:
			return err
		}
	}
}
