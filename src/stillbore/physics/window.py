"""Windows: between which depths the saw, and between which lengths the cut, may be. Arithmetic of lengths."""

from stillbore.physics.refusals import finite, first_refusal, not_negative


def travel_start_refusal(full_hole_depth: float, margin: float) -> int:
    return first_refusal((not_negative(full_hole_depth), not_negative(margin)))


def travel_start(full_hole_depth: float, margin: float) -> float:
    """Depth from saw contact that must be passed before the hole is taken as full.

    Formula:  z_from = z_1 + m

    Args:
        full_hole_depth: depth at which the hole is full, z_1 [m], rises
        margin: travel wanted beyond it, m [m], rises
    Returns:
        z_from: start of the travel window [m]
    Source: STILLBORE-DEFINITION
    """
    return full_hole_depth + margin


def travel_end_refusal(saw_far_wall_depth: float, pilot_far_wall_depth: float, margin: float) -> int:
    return first_refusal((finite(saw_far_wall_depth), finite(pilot_far_wall_depth), not_negative(margin)))


def travel_end(saw_far_wall_depth: float, pilot_far_wall_depth: float, margin: float) -> float:
    """Depth from saw contact that must not be passed, so that neither saw nor pilot touches the far wall.

    Formula:  z_to = min(z_2, z_p) - m

    Args:
        saw_far_wall_depth: depth at which the saw reaches the far wall, z_2 [m], rises
        pilot_far_wall_depth: depth at which the pilot's tip reaches it, z_p [m], rises
        margin: travel kept short of it, m [m], falls
    Returns:
        z_to: end of the travel window [m]
    Source: STILLBORE-DEFINITION
    """
    return min(saw_far_wall_depth, pilot_far_wall_depth) - margin


def beyond_refusal(reached: float, wanted: float) -> int:
    return first_refusal((finite(reached), finite(wanted)))


def beyond(reached: float, wanted: float) -> float:
    """How far one length lies beyond another; below zero it falls short. The width of a window is its end beyond
    its start.

    Formula:  s = a - b

    Args:
        reached: the length reached, a [m], rises
        wanted: the length wanted, b [m], falls
    Returns:
        s: by how much the first is beyond the second [m]
    Source: STILLBORE-DEFINITION
    """
    return reached - wanted


def lesser_refusal(first: float, second: float) -> int:
    return first_refusal((finite(first), finite(second)))


def lesser(first: float, second: float) -> float:
    """The lesser of two lengths.

    Formula:  m = min(a, b)

    Args:
        first: one length, a [m], rises
        second: the other, b [m], rises
    Returns:
        m: the lesser [m]
    Source: STILLBORE-DEFINITION
    """
    return min(first, second)


def middle_refusal(start: float, end: float) -> int:
    return first_refusal((finite(start), finite(end)))


def middle(start: float, end: float) -> float:
    """Middle of a window.

    Formula:  m = (a + b) / 2

    Args:
        start: start of the window, a [m], rises
        end: end of the window, b [m], rises
    Returns:
        m: its middle [m]
    Source: STILLBORE-DEFINITION
    """
    return 0.5 * (start + end)


def largest_usable_off_centre_refusal(largest_off_centre: float, share: float) -> int:
    return first_refusal((not_negative(largest_off_centre), not_negative(share)))


def largest_usable_off_centre(largest_off_centre: float, share: float) -> float:
    """Off-centre that the rule set lets be used of the largest at which a full hole is possible.

    Formula:  e_allowed = s e_max

    Args:
        largest_off_centre: largest off-centre at which a full hole is possible, e_max [m], rises
        share: share of it that may be used, s [-], rises
    Returns:
        e_allowed: largest off-centre allowed [m]
    Source: STILLBORE-DEFINITION
    """
    return share * largest_off_centre


def _lengths_refusal(first: float, second: float, third: float, fourth: float) -> int:
    return first_refusal((not_negative(first), not_negative(second), not_negative(third), not_negative(fourth)))


def cut_start_refusal(half_length: float, stopper_tail: float, gland_grip: float, cutter_half_width: float) -> int:
    return _lengths_refusal(half_length, stopper_tail, gland_grip, cutter_half_width)


def cut_start(half_length: float, stopper_tail: float, gland_grip: float, cutter_half_width: float) -> float:
    """Nearest the cut may be to the saddle's centre, on the house side.

    Formula:  x_from = half saddle + stopper tail + gland grip + half cutter

    Args:
        half_length: from the saddle's centre to its end [m], rises
        stopper_tail: length the stopper's gear takes up on the house side [m], rises
        gland_grip: length of pipe the gland needs between saddle and cut [m], rises
        cutter_half_width: half width of the cutter on the pipe [m], rises
    Returns:
        x_from: nearest cut from the saddle's centre [m]
    Source: STILLBORE-DEFINITION
    """
    return half_length + stopper_tail + gland_grip + cutter_half_width


def cut_end_refusal(pit_end: float, cutter_swing: float, bond_clamp: float, nearest_thread: float,
                    thread_margin: float) -> int:
    return first_refusal((_lengths_refusal(pit_end, cutter_swing, bond_clamp, nearest_thread),
                          not_negative(thread_margin)))


def cut_end(pit_end: float, cutter_swing: float, bond_clamp: float, nearest_thread: float,
            thread_margin: float) -> float:
    """Farthest the cut may be from the saddle's centre, on the house side.

    Formula:  x_to = min(pit end - cutter swing - bond clamp, nearest thread - margin)

    Args:
        pit_end: from the saddle's centre to the end of the pit [m], rises
        cutter_swing: room the cutter needs to swing [m], falls
        bond_clamp: width of the bond clamp beyond the cut [m], falls
        nearest_thread: from the saddle's centre to the nearest threaded joint [m], rises
        thread_margin: distance to keep from it [m], falls
    Returns:
        x_to: farthest cut from the saddle's centre [m]
    Source: STILLBORE-DEFINITION
    """
    return min(pit_end - cutter_swing - bond_clamp, nearest_thread - thread_margin)


def clear_length_needed_refusal(half_length: float, cut_start_length: float, cutter_half_width: float,
                                gland_grip: float, bond_clamp: float) -> int:
    return first_refusal((_lengths_refusal(half_length, cut_start_length, cutter_half_width, gland_grip),
                          not_negative(bond_clamp)))


def clear_length_needed(half_length: float, cut_start_length: float, cutter_half_width: float, gland_grip: float,
                        bond_clamp: float) -> float:
    """Clear straight pipe needed: bond clamp and saddle, gland and cut, and the cap and clamp on the house side.

    Formula:  l = clamp + half saddle + x_from + half cutter + cap grip + clamp

    Args:
        half_length: from the saddle's centre to its end on the main's side [m], rises
        cut_start_length: nearest cut from the saddle's centre, x_from [m], rises
        cutter_half_width: half width of the cutter [m], rises
        gland_grip: length of pipe that gland or cap needs, beyond the cut as before it [m], rises
        bond_clamp: width of a bond clamp, one at each end [m], rises
    Returns:
        l: clear straight length needed [m]
    Source: STILLBORE-DEFINITION
    """
    return 2.0 * bond_clamp + half_length + cut_start_length + cutter_half_width + gland_grip
