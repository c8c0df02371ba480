"""PNG (ISO/IEC 15948): a picture in one colour, and words kept in a picture."""

import struct
import zlib

SIGNATURE = b"\x89PNG\r\n\x1a\n"


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def chunks(png):
    """The kinds of the chunks of a picture, with what is in each."""
    at = len(SIGNATURE)
    while at < len(png):
        (length,) = struct.unpack(">I", png[at:at + 4])
        yield png[at + 4:at + 8], png[at + 8:at + 8 + length]
        at += 12 + length


def picture(path, width, height):
    """Writes a picture in one colour."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress((b"\0" + bytes([90, 120, 40]) * width) * height)
    path.write_bytes(SIGNATURE + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b""))


def with_words(png, keyword, words):
    """The picture with words under a keyword, in Latin letters, right behind its head."""
    (kind, head), *others = chunks(png)
    text = (b"tEXt", keyword.encode("latin-1") + b"\0" + words.encode("latin-1"))
    return SIGNATURE + b"".join(chunk(*one) for one in [(kind, head), text, *others])


def words_of(png, keyword):
    """The words under a keyword; none where it has none."""
    begins = keyword.encode("latin-1") + b"\0"
    found = [data[len(begins):] for kind, data in chunks(png) if kind == b"tEXt" and data.startswith(begins)]
    return found[0].decode("latin-1") if found else None
