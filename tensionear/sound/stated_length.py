"""How long a file says it is, where the library that decodes it does not tell.

libsndfile takes a WAV file that was cut off for a shorter one, FFmpeg an MP3 file. Both kinds state their length at
the beginning: a WAV file the bytes of its sound, an MP3 file (as most encoders write it) its packets.

References
----------
.. [1] Multimedia Programming Interface and Data Specifications 1.0, 1991: RIFF, chunks of a name, a size and that
   many bytes, padded to even ones (from memory).
.. [2] EBU Tech 3306 (RF64): sizes of 64 bits in the chunk "ds64" (from memory).
.. [3] The "Xing" or "Info" header in the first packet of an MP3 file: common practice of encoders, no standard.
"""

import os
import struct
from pathlib import Path
from typing import BinaryIO

_SMALLEST_PLACEHOLDER = 0x7FFF0000
# Recorders that write into a pipe, or were killed, leave 0, the largest 31-bit or 32-bit number or one a little
# smaller where the size belongs: these state no length.

_PACKET_FRAMES = {0: 576, 2: 576, 3: 1152}
"""Frames in an MP3 packet by the version bits of its header: MPEG 2.5, 2 and 1."""


def riff_share_present(path: Path) -> float | None:
    """How much of the sound that a WAV file states is there.

    Parameters
    ----------
    path : Path
        A file.

    Returns
    -------
    float or None
        1 if all of it is there, less if the file was cut off; None if it does not say, or is no WAV file.
    """
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] not in (b"RIFF", b"RIFX", b"RF64") or head[8:] != b"WAVE":
            return None
        order = ">" if head[:4] == b"RIFX" else "<"
        long_size = None
        while len(chunk := file.read(8)) == 8:
            size: int = struct.unpack(order + "I", chunk[4:])[0]
            if chunk[:4] == b"data":
                stated = long_size if head[:4] == b"RF64" and size == 2**32 - 1 else size
                return _share_present(file, stated)
            if chunk[:4] == b"ds64" and size >= 16:
                sizes = file.read(16)
                long_size = struct.unpack("<Q", sizes[8:])[0] if len(sizes) == 16 else None
                size -= 16
            file.seek(size + size % 2, os.SEEK_CUR)
    return None


def _share_present(file: BinaryIO, stated: int | None) -> float | None:
    if not stated or (stated >= _SMALLEST_PLACEHOLDER and stated < 2**32):
        return None
    return min((os.fstat(file.fileno()).st_size - file.tell()) / stated, 1.0)


def mp3_frames_stated(path: Path) -> int | None:
    """How many frames an MP3 file states, the encoder's padding included.

    Parameters
    ----------
    path : Path
        A file.

    Returns
    -------
    int or None
        None if it does not say, or is no MP3 file.
    """
    with path.open("rb") as file:
        head = file.read(10)
        if head[:3] == b"ID3" and len(head) == 10:
            # The size of the tag is written in seven bits a byte.
            size = sum((byte & 0x7F) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=True))
            file.seek(10 + size)
        else:
            file.seek(0)
        packet = file.read(64)
    if len(packet) < 64 or packet[0] != 0xFF or packet[1] & 0xE6 != 0xE2:
        return None
    place = max(packet.find(b"Xing", 4, 44), packet.find(b"Info", 4, 44))
    if place < 0:
        return None
    flags, n_packets = struct.unpack(">II", packet[place + 4 : place + 12])
    version = packet[1] >> 3 & 3
    if not flags & 1 or version not in _PACKET_FRAMES:
        return None
    return int(n_packets) * _PACKET_FRAMES[version]
