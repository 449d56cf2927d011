"""From a file or a simulated craft to readings with their time and quality."""
