package web

// places is how many a limiter has. The edge host has little memory for a program, and runs many of them.
const places = 1 << 12
