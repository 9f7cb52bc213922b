package register_test

import (
	"errors"
	"strings"
	"testing"

	"gaugewright/server/register"

	"github.com/google/go-cmp/cmp"
)

func TestPoints(t *testing.T) {
	want := []register.Point{{"0", "0.001", "0.004", "2"}, {"5", "-0.002", "0.004", "2.1"}}
	for name, file := range map[string]string{
		"plain":         "applied,error,expanded,k\n0,0.001,0.004,\n5,-0.002,0.004,2.1\n",
		"comma, kPa":    "Applied_kPa;Error (kPa);U [kPa];k\r\n500;-0,2;0,4;2,1\r\n0;0,1;0,4;2\r\n",
		"another order": "k\terror bar\texpanded\tremark\treference, mbar\n2.1\t-0.002\t0.004\tx\t5000\n2\t0.001\t0.004\t\t0\n",
	} {
		got, err := register.Points([]byte(file), "bar")
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Error(name, err, diff)
		}
	}
	for file, c := range map[string]struct {
		is   error
		want string
	}{
		"applied,error\n1,2\n":                       {register.ErrColumns, `"expanded"`},
		"applied_mA,error,expanded\n1,2,3\n":         {register.ErrColumns, "applied_mA"},
		"applied,ref,error,expanded\n1,1,2,3\n":      {register.ErrColumns, "two columns"},
		"applied,error,expanded\n1,two,3\n":          {register.ErrFile, "line 2, error"},
		"applied,error,expanded\n1,0.1,0.2\n2,0.1\n": {register.ErrFile, "line 3, expanded"},
		"": {register.ErrFile, "empty"},
	} {
		if _, err := register.Points([]byte(file), "bar"); !errors.Is(err, c.is) ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v", file, err)
		}
	}
}
