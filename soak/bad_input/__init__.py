"""The part 'input': readers of what people write, fed by a fuzzer that follows which code was reached."""
