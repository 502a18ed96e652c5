"""Tables of an invented pottery studio, as makers write them, with what they mean beside each."""
