//go:build planted

package link

var planted string

// Plant builds in an error by its name, for the test that must find it.
func Plant(name string) { planted = name }
