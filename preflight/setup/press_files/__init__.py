"""The open press files, CIP3 PPF 3.0 and XJDF 2.1: plain data in, bytes or text out."""
