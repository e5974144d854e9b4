#!/bin/sh
# Small invented pictures written by ImageMagick, and its own reading of them as raw grey (16 bits little endian, or 8), for the
# tests of PNG, TIFF and JPEG reading. Usage: make_pictures.sh (in this folder).
set -e
source="-size 41x29 -seed 5 gradient:black-white -attenuate 0.4 +noise Gaussian -colorspace Gray"
# Seeded noise needs OpenMP off to repeat.
export OMP_NUM_THREADS=1
convert $source -depth 16 base.png
grey16() { convert "$1" -depth 16 -endian LSB "gray:$1.raw"; }
grey8() { convert "$1" -depth 8 "gray:$1.raw"; }
convert base.png -depth 16 -compress LZW lzw16.tif && grey16 lzw16.tif
convert base.png -depth 16 -compress Zip -define tiff:tile-geometry=16x16 tiled16.tif && grey16 tiled16.tif
convert base.png -depth 12 -compress None -define quantum:format=unsigned packed12.tif && grey16 packed12.tif
convert base.png -depth 8 -compress RLE packbits8.tif && grey8 packbits8.tif
convert base.png -depth 8 -define quantum:polarity=min-is-white white-is-zero8.tif && grey8 white-is-zero8.tif
convert base.png -depth 8 -interlace PNG interlaced8.png && grey8 interlaced8.png
convert base.png -depth 8 -colors 64 -define png:color-type=3 palette8.png && grey8 palette8.png
convert base.png -depth 8 -quality 92 grey.jpg && grey8 grey.jpg
convert base.png -depth 8 -quality 92 -interlace JPEG progressive.jpg && grey8 progressive.jpg
convert base.png -depth 8 -colorspace sRGB -type TrueColor -sampling-factor 2x2 -quality 92 grey-as-colour.jpg && grey8 grey-as-colour.jpg
convert -size 48x32 gradient:red-blue -quality 90 colour.jpg
convert -size 48x32 gradient:red-blue -depth 8 colour.tif
rm base.png
convert --version | head -1 > VERSION
