"""Hash what a picture looks like to 256 bits, in its eight orientations.

The hash keeps, for the 16 x 16 lowest frequencies of a discrete cosine transform (the constant
ones left out), whether each coefficient lies above their median: Zauner, C. (2010),
Implementation and benchmarking of perceptual image hash functions, thesis, Hagenberg.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

HASH_BITS = 256
HASH_WORDS = HASH_BITS // 64
_WORKING_PX = 64  # side of the square that is transformed
_FREQUENCIES = 16  # 1..16 in each direction
_SHADE = 4  # grey values that count as one: recompression makes the flattest border noisy
_UNIFORM_SHARE = 0.65  # a page of words leaves more than this of a row to its background


def phash256(grey: NDArray[np.uint8]) -> str:
    """The DCT hash of a grey picture.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The upright picture. It is stretched to a square, so a change of aspect ratio is ignored.

    Returns
    -------
    str
        64 hexadecimal digits. Pictures of one exposure differ in few of the 256 bits, strangers
        in about half. A flat picture gives 64 zeros, which says nothing: see `hash_is_empty`.

    Raises
    ------
    ValueError
        If ``grey`` is not a two-dimensional uint8 array with at least one pixel.

    Examples
    --------
    >>> phash256(np.zeros((8, 8), dtype=np.uint8)) == "0" * 64
    True
    """
    return pack_bits(_bits(dct_coefficients(grey))[np.newaxis]).tobytes().hex()


def orientations_of_hashes(codes: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """The eight orientations as far as stored hashes know them, without their pictures.

    Parameters
    ----------
    codes : uint64 array, shape (n, 4)
        As `pack_hashes` gives them.

    Returns
    -------
    uint64 array, shape (n, 8, 4)
        As a viewer sees the picture after no turn, 90, 180 and 270 degrees clockwise, then
        mirrored and turned so. Quarter turns and mirroring only transpose the cosine coefficients
        and change the sign of the odd ones; their median lies close to zero but not on it, so a
        few bits (about 2 of 256) differ from the hash of the turned picture.

    Raises
    ------
    ValueError
        If the codes have not four words.
    """
    signs = np.where(unpack_bits(codes), np.int8(1), np.int8(-1))
    blocks = signs.reshape(-1, _FREQUENCIES, _FREQUENCIES)
    turned = np.stack([each > 0 for each in _turned_blocks(blocks)], axis=1)
    return pack_bits(turned.reshape(-1, HASH_BITS)).reshape(-1, 8, HASH_WORDS)


def pack_hashes(hashes: Sequence[str]) -> NDArray[np.uint64]:
    """Hashes as text in, one row of four 64-bit words each out.

    Parameters
    ----------
    hashes : sequence of str
        64 hexadecimal digits each.

    Returns
    -------
    uint64 array, shape (n, 4)
        Bit order is the same on every machine only in pairs compared here: store the text.

    Raises
    ------
    ValueError
        If one of them is not 64 hexadecimal digits.
    """
    digits = HASH_BITS // 4
    wrong = next((text for text in hashes if len(text) != digits), None)
    if wrong is not None:
        raise ValueError(f"a 256-bit hash has {digits} hexadecimal digits: {wrong!r}")
    return pack_text("".join(hashes))


def pack_text(hashes: str) -> NDArray[np.uint64]:
    """As `pack_hashes`, of hashes written one after the other without anything between.

    Raises
    ------
    ValueError
        If the text is not hexadecimal, or no whole number of hashes.
    """
    raw = bytes.fromhex(hashes)
    return np.frombuffer(raw, dtype=np.uint64).reshape(-1, HASH_WORDS)


def hamming(codes: NDArray[np.uint64], query: NDArray[np.uint64]) -> NDArray[np.uint16]:
    """How many bits differ between one code and each of many.

    Parameters
    ----------
    codes : uint64 array, shape (n, w)
        The many.
    query : uint64 array, shape (w,)
        The one.

    Returns
    -------
    uint16 array, shape (n,)
        0 is the same code, ``64 * w`` its opposite; two unrelated 256-bit codes lie near 128.
        No codes give an empty array.

    Raises
    ------
    ValueError
        If the number of words differs.

    Examples
    --------
    >>> hamming(np.array([[0], [7]], dtype=np.uint64), np.array([1], dtype=np.uint64)).tolist()
    [1, 2]
    """
    if codes.shape[1:] != query.shape:
        raise ValueError(f"codes of {codes.shape[1:]} words against one of {query.shape}")
    distance = np.zeros(len(codes), dtype=np.uint16)
    for word in range(codes.shape[1]):
        distance += np.bitwise_count(codes[:, word] ^ query[word])
    return distance


def hash_distance(first: str, second: str) -> int:
    """The number of differing bits (0 to 256) of two hashes given as text.

    Raises
    ------
    ValueError
        If one of them is not 64 hexadecimal digits.
    """
    pair = pack_hashes([first, second])
    return int(hamming(pair[:1], pair[1])[0])


def hash_is_empty(phash: str) -> bool:
    """Whether the hash comes from a flat picture and therefore resembles nothing."""
    return not phash.strip("0")


def content(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The part of a picture that is picture: without borders, bars, and a screen's words.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The picture.

    Returns
    -------
    uint8 array
        A view of the inner rectangle; the whole picture where nothing, or nearly everything,
        would go (less than a twentieth of the area left). Smooth sky at the rim may go too:
        use it beside the whole picture, not in its place.

    Raises
    ------
    ValueError
        As `phash256`.

    Notes
    -----
    A row or column belongs to a border, a bar or a page of words when one grey value fills most
    of it. The longest run of other rows, then of other columns in them, is kept.
    """
    check_grey(grey)
    rows = _longest_run(~_uniform_rows(grey))
    inner = grey[rows]
    columns = _longest_run(~_uniform_rows(inner.T))
    inner = inner[:, columns]
    if inner.shape == grey.shape:
        return grey
    rows = _longest_run(~_uniform_rows(inner))  # rows can be told better without side bars
    inner = inner[rows]
    return grey if inner.size * 20 < grey.size else inner


def _uniform_rows(grey: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Rows of which one narrow band of grey values fills most."""
    height, width = grey.shape
    if not grey.size:
        return np.ones(height, dtype=np.bool_)
    shades = np.ascontiguousarray(grey) // np.uint8(_SHADE)
    # What more than half of a row holds holds its median, which is found bit by bit.
    median = np.zeros((height, 1), dtype=np.uint8)
    bit = 128 // _SHADE
    while bit:
        higher = median + np.uint8(bit)
        median = np.where(_counted(shades >= higher) > width // 2, higher, median)
        bit //= 2
    here = _counted(shades == median)
    below, above = (_counted(shades == median + np.int16(step)) for step in (-1, 1))
    # Two shades: no edge between them cuts a background.
    return np.asarray((here + np.maximum(below, above) >= _UNIFORM_SHARE * width)[:, 0])


def _counted(which: NDArray[np.bool_]) -> NDArray[np.int32]:
    """How many are true in each row, as a column."""
    import cv2

    ones = which.view(np.uint8)
    return np.asarray(cv2.reduce(ones, 1, cv2.REDUCE_SUM, dtype=cv2.CV_32S), dtype=np.int32)


def _longest_run(kept: NDArray[np.bool_]) -> slice:
    """The longest run of true values, gaps of up to a fiftieth of the length closed."""
    places = np.flatnonzero(kept)
    if not places.size:
        return slice(0, len(kept))
    breaks = np.flatnonzero(np.diff(places) > max(1, len(kept) // 50))
    starts = np.append(places[0], places[breaks + 1])
    ends = np.append(places[breaks], places[-1]) + 1
    longest = int(np.argmax(ends - starts))
    return slice(int(starts[longest]), int(ends[longest]))


def dct_coefficients(grey: NDArray[np.uint8]) -> NDArray[np.float64]:
    """The cosine coefficients 1..16 x 1..16 of the picture stretched to 64 x 64.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The picture.

    Returns
    -------
    float64 array, shape (16, 16)
        Rows are vertical frequencies. Orthonormal, of grey values 0 to 255; all (nearly) zero for
        a flat picture.

    Raises
    ------
    ValueError
        If ``grey`` is not a two-dimensional uint8 array with at least one pixel.
    """
    import cv2

    check_grey(grey)
    square = cv2.resize(grey, (_WORKING_PX, _WORKING_PX), interpolation=cv2.INTER_AREA)
    transformed = np.asarray(cv2.dct(square.astype(np.float64)))
    block = transformed[1 : _FREQUENCIES + 1, 1 : _FREQUENCIES + 1]
    return np.where(np.abs(block) < 1e-6, 0.0, block)  # rounding noise of flat pictures


def pack_bits(bits: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Truth values, shape (n, 256), in; codes, shape (n, 4), out."""
    return np.ascontiguousarray(np.packbits(bits, axis=1)).view(np.uint64)


def unpack_bits(codes: NDArray[np.uint64]) -> NDArray[np.bool_]:
    """Codes, shape (n, 4), in; truth values, shape (n, 256), out."""
    return np.unpackbits(np.ascontiguousarray(codes).view(np.uint8), axis=1).astype(np.bool_)


def _bits(block: NDArray[np.float64]) -> NDArray[np.bool_]:
    return (block > np.median(block)).ravel()


def _turned_blocks(blocks: NDArray[np.int8]) -> Iterator[NDArray[np.int8]]:
    """Signs of the coefficients of pictures, shape (n, 16, 16), in each of eight orientations."""
    odd = np.where(np.arange(1, _FREQUENCIES + 1) % 2 == 1, np.int8(-1), np.int8(1))
    mirror_columns, mirror_rows = odd[np.newaxis, :], odd[:, np.newaxis]
    for start in (blocks, blocks * mirror_columns):
        across = start.swapaxes(1, 2)
        yield start
        yield across * mirror_columns  # clockwise quarter turn: transpose, then mirror
        yield start * mirror_rows * mirror_columns
        yield across * mirror_rows


def check_grey(grey: NDArray[np.uint8]) -> None:
    """Refuse what is no grey picture, with a ValueError."""
    if grey.ndim != 2 or grey.dtype != np.uint8 or grey.size == 0:
        raise ValueError(
            f"a grey picture is a uint8 array (height, width), not {grey.dtype} {grey.shape}"
        )
