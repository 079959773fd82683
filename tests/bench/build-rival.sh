#!/bin/sh
# Builds rival-planes from the Debian packages libcgal-dev and libeigen3-dev into the folder given. Exit status 3, with
# the reason, when a package or the compiler is not there.
set -eu
out=$1
here=$(dirname "$0")
[ -f /usr/include/CGAL/Shape_detection/Efficient_RANSAC.h ] || { echo 'Debian package libcgal-dev is not installed' >&2; exit 3; }
[ -d /usr/include/eigen3 ] || { echo 'Debian package libeigen3-dev is not installed' >&2; exit 3; }
command -v g++ >/dev/null || { echo 'g++ is not installed' >&2; exit 3; }
exec g++ -O2 -std=c++17 -DNDEBUG -I/usr/include/eigen3 -DCGAL_EIGEN3_ENABLED "$here/rival-planes.cpp" -o "$out/rival-planes" -lgmp -lmpfr
