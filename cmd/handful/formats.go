package main

// formats are how a check may be reported.
var formats = []string{"text", "json"}
