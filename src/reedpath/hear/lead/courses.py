"""The likeliest course through some states, where a change from any of them to any other costs the same."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["likeliest_course"]


def likeliest_course(likelihoods: npt.NDArray[np.floating], change_cost: float) -> npt.NDArray[np.intp]:
    """The state of each moment by Viterbi's search.

    likelihoods : log likelihoods, shape (moments, states), of one moment at least.

    >>> likeliest_course(np.array([[2.0, 0.0], [0.0, 0.5], [2.0, 0.0], [0.0, 9.0]]), 1.0).tolist()
    [0, 0, 0, 1]
    """
    score, back, stays = likelihoods[0], [], np.arange(likelihoods.shape[1], dtype=np.int16)
    for row in likelihoods[1:]:
        best = int(score.argmax())
        changed = score[best] - change_cost
        back.append(np.where(changed > score, best, stays))
        score = np.maximum(score, changed) + row
    course = [int(score.argmax())]
    for came_from in back[::-1]:
        course.append(int(came_from[course[-1]]))
    return np.array(course[::-1], dtype=np.intp)
