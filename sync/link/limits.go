package link

const (
	// Protocol is the number of the exchange as it is here. It rises where a side of before would take
	// something for what it is not.
	//
	//	1  as it began; the sides do not say it
	//	2  a change that a newer program wrote is named in newer, and stays with its sender
	Protocol = 2
	// Oldest is the lowest number that is still spoken.
	Oldest = 1
	// MaxPush caps the changes of one request; a day's work of one person is a few hundred.
	MaxPush = 1000
	// MaxPull caps the changes of one response.
	MaxPull = 2000
	// maxPullBytes bounds a response, so that a slow line makes progress between breaks.
	maxPullBytes = 1 << 20
	// maxScan caps the journal entries that one request looks through for what is in scope: some 50 ms
	// of reading.
	maxScan = 4096
	// placeDigits is how much of the tree's root goes with a device's place.
	placeDigits = 32
	// maxNonce is the longest nonce that is echoed.
	maxNonce = 64
)
