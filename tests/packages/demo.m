answer = buttonworth.compare (fileread ("plan.json"));
printf ("%s %s\n", answer.best, answer.routes.(answer.best).net);
printf ("%s\n", fileread ("/proc/self/maps"));
