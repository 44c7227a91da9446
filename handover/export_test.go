package handover

// Words are the words with numbers, in their order.
func Words() []string { return words }
