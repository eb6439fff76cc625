#include "print_answers.hpp"

int main() { hosts::print_answers(); }
