package link

const (
	// MaxPush caps the changes of one request; a day's work of one person is a few hundred.
	MaxPush = 1000
	// MaxPull caps the changes of one response.
	MaxPull = 2000
	// maxPullBytes bounds a response, so that a slow line makes progress between breaks.
	maxPullBytes = 1 << 20
	// maxScan caps the journal entries that one request looks through for what is in scope: some 50 ms of reading.
	maxScan = 4096
	// placeDigits is how much of the tree's root goes with a device's place.
	placeDigits = 32
	// maxNonce is the longest nonce that is echoed.
	maxNonce = 64
)
