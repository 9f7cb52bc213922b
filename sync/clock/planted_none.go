//go:build !planted

package clock

// planted names the error that a test builds in on purpose to see whether it is found; a built
// program has none.
const planted = ""
