"""A worker some of whose jobs never end or take all memory, by the name of the score."""

import time

from orchq.app import jobs, worker

check = jobs.check


def slow_check(job):
    name = job["file"].rpartition("/")[2]
    if name.startswith("endless"):
        time.sleep(10_000)
    if name.startswith("slow"):
        time.sleep(30)
    if name.startswith("greedy"):
        taken = []
        while True:
            taken.append(bytearray(50_000_000))
    yield from check(job)


if __name__ == "__main__":
    jobs.JOBS["check"] = slow_check
    worker.main()
