"""Random worlds: what is found in them is asked another way, by playing a world whose answers are all known."""

import random
from collections import deque
from dataclasses import dataclass, replace

import pytest

import reach
from reach.findings import Severity
from reach.world.result import Job
from reach.world.world_checker import check_world
from tests.made_worlds import NO, OPEN, YES, TableRunner, found, judged, made_world, spot

WORLDS = 150


@dataclass
class Game:
    """A random world, and the truth about it: what is reached from every entrance, and without which place."""

    rooms: dict
    links: dict
    must_reach: tuple
    can: dict
    """(level, entrance) to the places that can be reached."""
    can_without: dict
    """(level, entrance, place) to the places that can be reached without it."""

    @property
    def world(self):
        return made_world(self.rooms, self.links, "r0/in", self.must_reach)

    def table(self, hide=0.0, seed=0):
        """What checks say: the truth, of which a part is hidden; some checks fail then."""
        dice = random.Random(seed)
        places = {level: ["in", *(place for place in room if place != "in")] for level, room in self.rooms.items()}
        table = {}
        for key, truth in {**self.can, **self.can_without}.items():
            verdicts = {place: YES if place in truth else NO for place in places[key[0]]}
            hidden = {place: OPEN for place in verdicts if dice.random() < hide}
            table[Job(*key)] = None if dice.random() < hide / 4 else verdicts | hidden
        return table


def game(seed):
    """A world of a few rooms with cycles, one-way links, self-links, rooms that nothing leads to, and blind exits."""
    dice = random.Random(seed)
    rooms, links, can, can_without = {}, {}, {}, {}
    count = dice.randint(1, 5)
    names = [f"r{index}" for index in range(count)]
    for name in names:
        room = {"in": "start"}
        room |= {f"e{index}": "entrance" for index in range(dice.randint(0, 1))}
        room |= {f"x{index}": "exit" for index in range(dice.randint(0, 3))}
        if dice.random() < 0.5:
            room["lamp"] = {"kind": "goal", "ends_level": dice.random() < 0.5}
        if dice.random() < 0.5:
            room["key"] = {"kind": "pickup", "required": dice.random() < 0.7}
        rooms[name] = room
    for name, room in rooms.items():
        for place, told in room.items():
            if told == "exit" and dice.random() < 0.8:
                target = dice.choice(names)
                links[f"{name}/{place}"] = f"{target}/{dice.choice([p for p in rooms[target] if p in ('in', 'e0')])}"
        for entrance in (place for place in room if place in ("in", "e0")):
            reached = {place for place in room if place == entrance or dice.random() < 0.7}
            can[name, entrance] = reached
            for place in room:
                if place not in ("in", "e0"):
                    avoidable = {each for each in reached if each == entrance or dice.random() < 0.6}
                    can_without[name, entrance, place] = avoidable | ({place} & reached)
    wanted = [f"{name}/{place}" for name, room in rooms.items() for place in room if place in ("lamp", "x0")]
    must_reach = tuple(each for each in wanted if dice.random() < 0.5)
    return Game(rooms, links, must_reach, can, can_without)


def explored(made, begins, may_touch=lambda entrance, place: True):
    """Every entrance and place that play comes to, by breadth-first search over entrances."""
    entrances, places = set(begins), set()
    queue = deque(begins)
    while queue:
        level, entrance = queue.popleft()
        for place in made.can[level, entrance]:
            if not may_touch((level, entrance), place):
                continue
            places.add((level, place))
            target = made.links.get(f"{level}/{place}")
            if target is not None and spot(target) not in entrances:
                entrances.add(spot(target))
                queue.append(spot(target))
    return entrances, places


def hopeful(made, entrance):
    """Whether anything that must be reached, or an ending, can be reached from an entrance."""
    endings = {
        (name, "lamp")
        for name, room in made.rooms.items()
        if "lamp" in room and room["lamp"]["ends_level"] and f"{name}/lamp" not in made.links
    }
    return bool((endings | set(map(spot, made.must_reach))) & explored(made, [entrance])[1])


def truth(made):
    """What is wrong with the world, by playing it."""
    entrances, places = explored(made, [("r0", "in")])
    levels = {level for level, _ in entrances}
    wanted = set(map(spot, made.must_reach))
    hope = {each: hopeful(made, each) for each in made.can}
    taken = [
        (entrance, (entrance[0], place), spot(made.links[f"{entrance[0]}/{place}"]))
        for entrance in entrances
        for place in made.can[entrance]
        if f"{entrance[0]}/{place}" in made.links
    ]
    traps = {(source, target) for entrance, source, target in taken if hope[entrance] and not hope[target]}
    missable = set()
    keys = {(name, "key") for name, room in made.rooms.items() if room.get("key", {}).get("required")}
    for place in (wanted | keys) & places:

        def without(entrance, other, place=place):
            if entrance[0] != place[0]:
                return True
            return other != place[1] and other in made.can_without[(*entrance, place[1])]

        to_be_had = {each: place in explored(made, [each])[1] for each in made.can}
        for entrance in explored(made, [("r0", "in")], without)[0]:
            for other in made.can[entrance]:
                target = made.links.get(f"{entrance[0]}/{other}")
                if target is None or not without(entrance, other) or ((entrance[0], other), spot(target)) in traps:
                    continue
                if to_be_had[entrance] and not to_be_had[spot(target)]:
                    missable.add(place)
    return {
        "unentered-level": {(name, None) for name in made.rooms if name not in levels},
        "loose-exit": {
            (level, place)
            for level, place in places
            if made.rooms[level][place] == "exit" and f"{level}/{place}" not in made.links
        },
        "one-way-trap": {source for source, _ in traps},
        "goal-out-of-reach": wanted - places,
        "missable-for-good": missable,
    }


def told(report, severities=("error", "warning", "note")):
    rules = ("unentered-level", "loose-exit", "one-way-trap", "goal-out-of-reach", "missable-for-good")
    return {
        rule: {(level, place) for severity, level, place in found(report, rule) if severity in severities}
        for rule in rules
    }


def test_with_all_answers_known_what_is_found_is_what_playing_shows():
    shown = dict.fromkeys(truth(game(0)), 0)
    for seed in range(WORLDS):
        made = game(seed)
        report = check_world(made.world, runner=TableRunner(made.world, made.table(), seed))
        assert told(report) == truth(made), seed
        for rule, places in truth(made).items():
            shown[rule] += len(places)
    assert min(shown.values()) > WORLDS / 20, shown


def test_with_answers_hidden_nothing_false_is_claimed_and_nothing_true_denied():
    hidden = 0
    for seed in range(WORLDS):
        made = game(seed)
        report = check_world(made.world, runner=TableRunner(made.world, made.table(hide=0.25, seed=seed), seed))
        right = truth(made)
        entrances, places = explored(made, [("r0", "in")])
        entered = {level for level, _ in entrances}
        for level in report.levels:
            hidden += level.verdict is OPEN
            assert level.verdict in (OPEN, YES if level.id in entered else NO), seed
        for link in report.links:
            assert link.verdict in (OPEN, YES if link.source in places else NO), seed
        said = {
            rule: {(each.level, each.place) for each in report.findings if each.rule == rule and claims(each)}
            for rule in right
        }
        for rule in ("unentered-level", "loose-exit", "goal-out-of-reach"):
            assert said[rule] <= right[rule], (seed, rule)
        for level, place in said["one-way-trap"]:
            target = spot(made.links[f"{level}/{place}"])
            assert (level, place) in places and hopeful(made, ("r0", "in")) and not hopeful(made, target), seed
        missed = {each for each in said["missable-for-good"] if not gone_for_good(made, each)}
        assert not missed, seed
        assert right["goal-out-of-reach"] <= told(report)["goal-out-of-reach"], seed
        assert right["unentered-level"] <= told(report)["unentered-level"], seed
    assert hidden > WORLDS / 10


def claims(finding):
    """Whether a finding claims something, and does not say that it is undecided."""
    return "undecided" not in finding.message


def gone_for_good(made, place):
    """Whether a player can be, without having been at a place, where nothing leads to it any more."""

    def without(entrance, other):
        if entrance[0] != place[0]:
            return True
        return other != place[1] and other in made.can_without[(*entrance, place[1])]

    entrances, _ = explored(made, [("r0", "in")], without)
    return any(place not in explored(made, [each])[1] for each in entrances)


def test_the_report_does_not_depend_on_the_order_in_which_jobs_complete():
    from reach.report.world_json import dump

    for seed in range(20):
        made = game(seed)
        texts = {
            dump(check_world(made.world, runner=TableRunner(made.world, made.table(hide=0.2, seed=seed), order)))
            for order in range(4)
        }
        assert len(texts) == 1


def test_a_level_that_cannot_be_read_is_reported_while_the_others_are_checked():
    rooms = {"hall": {"a": "exit", "b": "exit"}, "lost": None, "den": {"lamp": "goal"}, "attic": {"lamp": "goal"}}
    links = {"hall/a": "lost/gate", "hall/b": "den/in", "lost/x": "attic/in"}
    report = judged(made_world(rooms, links, "hall/in", ("den/lamp", "lost/lamp")))
    states = {level.id: (level.failed, level.verdict, len(level.outcomes)) for level in report.levels}
    assert states == {
        "hall": (False, YES, 1),
        "lost": (True, YES, 1),
        "den": (False, YES, 1),
        "attic": (False, OPEN, 1),
    }
    assert [link.verdict for link in report.links] == [YES, YES, OPEN]
    assert [(each.severity.value, each.rule, each.level) for each in report.findings] == [
        ("error", "missable-for-good", "den"),
        ("warning", "unentered-level", "attic"),
        ("note", "goal-out-of-reach", "lost"),
    ]


def test_the_report_says_what_was_asked():
    world = made_world({"hall": {"lamp": "goal"}}, {}, "hall/in", ("hall/lamp",))
    report = check_world(world, reach.CheckOptions(time_limit_s=5), TableRunner(world, {}))
    assert (report.name, report.origin, report.start) == ("made", "made.world.json", ("hall", "in"))
    assert report.options["time_limit_s"] == 5
    assert report.must_reach == (("hall", "lamp"),)
    assert report.product == f"reach {reach.__version__}"
    (level,) = report.levels
    assert (level.id, level.file, level.level_name, level.movement_name) == ("hall", "hall.json", "hall", "tests")


@pytest.mark.parametrize("severity", Severity)
def test_real_levels_give_a_report_like_the_table_does(severity):
    world = made_world({"hall": {"lamp": "goal", "door": "exit"}}, {"hall/door": "hall/in"}, "hall/in", ("hall/lamp",))
    report = check_world(world)
    assert report.findings == () and report.complete
    assert report.count(severity) == sum(
        each.severity is severity for each in report.levels[0].outcomes[0].report.findings
    )
    assert replace(report, findings=()).count(severity) == report.count(severity)
