// Packages makes of built commands what people install: archives with licences,
// manual and completions, .deb and .rpm, and checksums of all of them.
//
//	go run -modfile .ci/packages/packages.mod -tags packaging ./.ci/packages -from DIR -docs DIR -root DIR -to DIR
//
// DIR of -from holds handful-OS-ARCH as .ci/build calls them, DIR of -docs what
// the command prints of itself. Version and time are those that the commands say
// they were built from, so that the same commands give the same bytes, whoever
// packs them and whenever. What packs them stands in a module file of its own, so
// that the command has nothing of it; the tag keeps it from all other builds.
package main
