import buttonworth.Buttonworth;

final class Allocate {
  public static void main(String[] arguments) throws Exception {
    System.out.println(Buttonworth.allocate("{}"));
  }
}
