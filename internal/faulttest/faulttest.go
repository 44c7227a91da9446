// Package faulttest ill-treats the program as it is shipped: the built binary is killed in the middle of its work while phones
// hand in records, and afterwards every record that was acknowledged must be there once. It holds only tests.
package faulttest
