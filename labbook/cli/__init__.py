"""The command line: reads arguments, calls one function of `work`, hands its result to `show`."""
