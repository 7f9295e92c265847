
if TYPE_CHECKING:
    from ....lang.bench import Call
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    told = {tuple(np.round(edge.at, 6)) for edge in piece.skin_measures.edges}
    for edge in piece.skin_measures.feathers:
        owner = next((one for one in edge.owners if one >= 0), 0)
        short = edge.length <= SHORT
        bound = piece.bound("feather-edge", "point" if short else "least", owner)
        if below(edge.angle, bound) and tuple(np.round(edge.at, 6)) not in told:
            yield Verdict(
                f"{piece.name_of(owner)} runs out to a {'sharp point' if short else 'feather edge'}",
                owner,
                f"{edge.angle:.0f} degrees of metal over {mm(edge.length)}",
                f"{bound:g} degrees or more",
                off_its_room(piece, edge.owners)
                or _plainer(piece.call(owner))
                or f"cut or round it off {mm(_off(edge.angle))} back, where it is {mm(BLUNT)} thick, or let "
                "it run into other metal",
                edge.angle,
                bound,
                place=place(edge.at),
                others=tuple(one for one in edge.owners if one >= 0 and one != owner)[:1],
            )


def _plainer(call: Call) -> str:
    """What blunts the corners between the strokes of letters sawn out of metal."""
    if not call.given("letters") or call.get("style") == "block" or call.get("raised") or call.given("joined"):
        return ""
    return "say 'style block', whose letters have no such corners, or round it off by hand"
