"""Numbers of Linux system calls as Debian's kernel headers give them, for the filter of the JPEG 2000 worker.

    extract.py UAPI

UAPI is the folder usr/lib/linux/uapi of Debian's package linux-libc-dev (see ORIGIN.md), unpacked by dpkg -x. Writes
x86-64.tsv and arm64.tsv beside this file: name and number, by number.
"""
import pathlib
import re
import sys


def main() -> None:
    here = pathlib.Path(__file__).parent
    for kind, folder in (("x86-64", "x86"), ("arm64", "arm64")):
        header = (pathlib.Path(sys.argv[1]) / folder / "asm" / "unistd_64.h").read_text(encoding="utf-8")
        calls = re.findall(r"^#define __NR_(\w+) (\d+)$", header, re.MULTILINE)
        lines = [f"{name}\t{number}\n" for name, number in sorted(calls, key=lambda each: (int(each[1]), each[0]))]
        (here / f"{kind}.tsv").write_text("".join(lines), encoding="utf-8")


main()
