//go:build !unix

package check

import "time"

var began = time.Now()

// spent is the time since the beginning.
func spent() time.Duration { return time.Since(began) }
