"""A class: questions with checked answers, the teacher's key, the methods by hand on a page to print."""
