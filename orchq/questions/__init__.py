"""Questions to the graph: one ``.rq`` file and one typed function each."""

from orchq.questions.answers import Answer, Answers
from orchq.questions.graph import Ask, Graph, load_graph
from orchq.questions.head import Question, catalogue, question, question_names

__all__ = [
    "Answer",
    "Answers",
    "Ask",
    "Graph",
    "Question",
    "catalogue",
    "load_graph",
    "question",
    "question_names",
]
