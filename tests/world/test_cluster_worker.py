import reach
from reach.world.cache import product_stamp
from reach.world.cluster_worker import packed, plain_answer
from reach.world.worker import answer_to
from tests.world_runs import drawn_job, drawn_task

TASK = drawn_task(drawn_job(1))


def test_a_worker_of_the_same_version_answers_as_any_does():
    answer = answer_to(TASK, lambda stage: None)
    assert plain_answer(reach.__version__, product_stamp(), packed(TASK)) == (answer.stored, "")


def test_a_worker_of_another_version_gives_no_report_and_does_not_even_read_the_task():
    stored, why = plain_answer("9.9", "other", b"unreadable")
    assert (stored, why) == (None, f"the worker has reach {reach.__version__}, this is reach 9.9")
    stored, why = plain_answer(reach.__version__, "other", b"unreadable")
    assert stored is None and "another reach" in why and "libraries differ" in why
