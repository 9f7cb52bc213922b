package link

const (
	// Protocol is the number of the exchange in this program. It rises when an older side would
	// misread something.
	//
	//	1  the first; the sides do not say it
	//	2  a change that a newer program wrote is named in newer, and stays with its sender
	//	3  a device sends a second request before the answer to the first: lane, after
	Protocol = 3
	// Oldest is the lowest protocol that is still spoken.
	Oldest = 1
	// MaxPush caps the changes of one request; a day's work of one person is a few hundred.
	MaxPush = 1000
	// MaxRefusals caps the refusals that a device is sent. A shorter list is complete: a change that is
	// not on it is no longer refused.
	MaxRefusals = 200
	// MaxPull caps the changes of one response.
	MaxPull = 2000
	// maxPullBytes bounds a response, so that a slow line makes progress between breaks.
	maxPullBytes = 1 << 20
	// maxScan caps the journal entries that one request looks through for what is in scope: some 50 ms
	// of reading.
	maxScan = 4096
	// placeDigits is how many digits of the tree's root a device's place has.
	placeDigits = 32
	// Lanes is how many requests a device may have on the way at once.
	Lanes = 2
	// maxNonce is the longest nonce that is echoed.
	maxNonce = 64
)
