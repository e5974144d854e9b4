#!/bin/sh
# Reads report.dcm with two programs of other authors and keeps what they say: dsrdump (DCMTK) and dciodvfy (dicom3tools), both of Debian.
# report.dcm is written by DoseReportTests when HOTLIGHT_WRITE_REFERENCE is set.
# sh tests/reference/dose-reports/read.sh
cd "$(dirname "$0")" || exit 1
dsrdump +Pc +Pl report.dcm > dsrdump.txt 2>&1
dciodvfy report.dcm > dciodvfy.txt 2>&1
{ dpkg-query -W dcmtk dicom3tools; sha256sum report.dcm; } > versions.txt
