"""What is dug: the pit's size, the spoil, and the layers in which it is filled again."""

from math import ceil

from stillbore.physics.refusals import OK, OUT_OF_RANGE, first_refusal, not_negative, positive

MOST_LAYERS = 1e6


def house_end_refusal(cut_start_length: float, window_width: float, end_room: float) -> int:
    return first_refusal((not_negative(cut_start_length), not_negative(window_width), not_negative(end_room)))


def house_end(cut_start_length: float, window_width: float, end_room: float) -> float:
    """How far the pit must reach on the house side, from the saddle's centre.

    Formula:  L_h = c + w + e

    Args:
        cut_start_length: nearest place of the cut, which saddle and gland decide, c [m], rises
        window_width: width of the cutting window, w [m], rises
        end_room: room at the end of the pit, e [m], rises
    Returns:
        L_h: from the saddle's centre to the end of the pit [m]
    Source: STILLBORE-DEFINITION
    """
    return cut_start_length + window_width + end_room


def pit_length_refusal(house_end_length: float, half_length: float, end_room: float, least_length: float) -> int:
    return first_refusal((not_negative(house_end_length), not_negative(half_length), not_negative(end_room),
                          not_negative(least_length)))


def pit_length(house_end_length: float, half_length: float, end_room: float, least_length: float) -> float:
    """Length of the pit: the house side, half the saddle and the room behind it, and no less than the least.

    Formula:  L = max(L_h + h + e, L_least)

    Args:
        house_end_length: from the saddle's centre to the end on the house side, L_h [m], rises
        half_length: from the saddle's centre to its end, h [m], rises
        end_room: room at the end of the pit on the main's side, e [m], rises
        least_length: least length in which anybody can work, L_least [m], rises
    Returns:
        L: length of the pit [m]
    Source: STILLBORE-DEFINITION
    """
    return max(house_end_length + half_length + end_room, least_length)


def pit_depth_refusal(cover: float, outside_diameter: float, room_below: float) -> int:
    return first_refusal((not_negative(cover), positive(outside_diameter), not_negative(room_below)))


def pit_depth(cover: float, outside_diameter: float, room_below: float) -> float:
    """Depth of the pit, from the surface to its floor.

    Formula:  H = c + D + b

    Args:
        cover: from the surface to the pipe's crown, c [m], rises
        outside_diameter: outside diameter of the pipe, D [m], rises
        room_below: room below the pipe, b [m], rises
    Returns:
        H: depth of the pit [m]
    Source: STILLBORE-DEFINITION
    """
    return cover + outside_diameter + room_below


def pit_volume_refusal(length: float, width: float, depth: float) -> int:
    return first_refusal((not_negative(length), not_negative(width), not_negative(depth)))


def pit_volume(length: float, width: float, depth: float) -> float:
    """Volume of a pit with upright sides.

    Formula:  V = L W H

    Args:
        length: length, L [m], rises
        width: width, W [m], rises
        depth: depth, H [m], rises
    Returns:
        V: volume [m3]
    Source: STILLBORE-DEFINITION
    """
    return length * width * depth


def spoil_volume_refusal(volume: float, bulking: float) -> int:
    return first_refusal((not_negative(volume), positive(bulking)))


def spoil_volume(volume: float, bulking: float) -> float:
    """Volume of loose spoil from a volume of ground.

    Formula:  V_s = b V

    Args:
        volume: volume in the ground, V [m3], rises
        bulking: loose volume over volume in the ground, b [-], rises
    Returns:
        V_s: loose volume [m3]
    Source: SOIL-BULKING
    """
    return bulking * volume


def spoil_mass_refusal(volume: float, density: float) -> int:
    return first_refusal((not_negative(volume), positive(density)))


def spoil_mass(volume: float, density: float) -> float:
    """Mass of what is dug.

    Formula:  m = rho V

    Args:
        volume: volume in the ground, V [m3], rises
        density: density in the ground, rho [kg/m3], rises
    Returns:
        m: mass [kg]
    Source: STILLBORE-DEFINITION
    """
    return density * volume


def layers_refusal(height: float, thickest: float) -> int:
    code = first_refusal((not_negative(height), positive(thickest)))
    if code != OK:
        return code
    return OK if height <= MOST_LAYERS * thickest else OUT_OF_RANGE


def layers(height: float, thickest: float) -> float:
    """How many layers fill a height, none thicker than can be compacted.

    Formula:  n = ceil(H / t)

    Args:
        height: height to be filled, H [m], rises
        thickest: thickest layer, t [m], falls
    Returns:
        n: number of layers [-]
    Source: STILLBORE-DEFINITION
    """
    return float(ceil(height / thickest - 1e-9))
